import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { GERMAN } from '../src/model/words-de';
import { ENGLISH } from '../src/model/words-en';
import { type Watch, accessibilityFaults, launch, picture, watch } from './browser';
import { type Program, inventCase, scratch, serve, tracedCase } from './program';

interface Point {
  x: number;
  y: number;
}

async function middle(of: Locator): Promise<Point> {
  const box = await of.boundingBox();
  if (!box) throw new Error(`not to be seen: ${of}`);
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

describe('deciding', () => {
  const folder = scratch();
  let browser: Browser;
  let program: Program;
  let page: Page;
  let seen: Watch;
  let caseId = '';

  const lane = (n: number): Locator => page.locator('.lane').nth(n);
  const bars = (n: number): Promise<number> => lane(n).locator('.device').count();
  const tray = (): Promise<void> => page.getByRole('radiogroup', { name: 'Plan, comparison, tray or figures' }).getByText('Tray').click();
  const open = async (): Promise<void> => {
    await page.goto('about:blank');
    await page.goto(`/#/case/${caseId}`);
    await page.locator('.order li').first().waitFor({ timeout: 120_000 });
    await page.locator('.ruler [role=status]').waitFor({ state: 'detached', timeout: 120_000 });
  };

  beforeAll(async () => {
    const made = inventCase(folder.path, 'lower-premolar');
    program = await serve(`${folder.path}/data`);
    caseId = await tracedCase(program, made);
    browser = await launch();
    const guided = { name: 'anfract.settings', value: JSON.stringify({ guided: true }) };
    const storageState = { cookies: [], origins: [{ origin: new URL(program.url).origin, localStorage: [guided] }] };
    page = await (await browser.newContext({ viewport: { width: 1280, height: 800 }, baseURL: program.url, hasTouch: true, storageState })).newPage();
    page.setDefaultTimeout(20_000);
    seen = watch(page, program.url);
  });

  afterAll(async () => {
    await browser?.close();
    await program?.stop();
    folder.clean();
  });

  it('finds devices by words, kind and what reaches, and says why each ends', async () => {
    await open();
    await tray();
    const all = Number((await page.locator('.tray [role=status]').innerText()).split(' ')[0]);
    await page.getByRole('searchbox').fill('rotary 25 mm');
    await page.getByLabel('Reaches').selectOption('work');
    await expect.poll(async () => Number((await page.locator('.tray [role=status]').innerText()).split(' ')[0])).toBeLessThan(all);
    const first = page.locator('.device-line').first();
    expect(await first.innerText()).toMatch(/Rotary.*\d+\.\d\smm/s);
    // One sentence with the number that decided.
    expect(await first.getAttribute('title')).toMatch(/\d.*\./);
    await picture(page, '22-tray');
    expect(await accessibilityFaults(page)).toEqual([]);
  });

  it('draws only the devices in sight', async () => {
    await page.getByRole('searchbox').fill('');
    await page.getByLabel('Reaches').selectOption('');
    expect(await page.locator('.device-line').count()).toBeLessThan(60);
    await page.locator('.virtual').evaluate((e) => e.scrollTo(0, e.scrollHeight));
    const last = page.locator('.virtual [role=listitem]').last();
    await expect.poll(async () => (await last.getAttribute('aria-posinset')) === (await last.getAttribute('aria-setsize'))).toBe(true);
    await page.locator('.virtual').evaluate((e) => e.scrollTo(0, 0));
  });

  it('puts a device into a lane by dragging it there, and takes it back', async () => {
    await page.getByRole('searchbox').fill('rotary');
    const fold = lane(1).locator('.fold');
    if ((await fold.getAttribute('aria-expanded')) === 'false') await fold.click();
    const before = await bars(1);
    const from = await middle(page.locator('.device-line').nth(1));
    const to = await middle(lane(1).locator('.band'));
    await page.mouse.move(from.x, from.y);
    await page.mouse.down();
    await page.mouse.move(to.x, to.y, { steps: 5 });
    await lane(1).and(page.locator('[data-drop]')).waitFor();
    await page.mouse.up();
    await expect.poll(() => bars(1)).toBe(before + 1);
    await page.keyboard.press('Control+z');
    await expect.poll(() => bars(1)).toBe(before);
    await page.getByRole('button', { name: /^Do again: rotary/ }).click();
    await expect.poll(() => bars(1)).toBe(before + 1);
    await page.getByRole('button', { name: /^Take back: rotary/ }).click();
    await expect.poll(() => bars(1)).toBe(before);
  });

  it('takes it from a finger as well, and lets go of it on Escape', async () => {
    const before = await bars(1);
    const from = await middle(page.locator('.device-line').first());
    const to = await middle(lane(1).locator('.band'));
    const finger = await page.context().newCDPSession(page);
    const touch = (type: string, at?: Point): Promise<unknown> => finger.send('Input.dispatchTouchEvent', { type: type as 'touchStart', touchPoints: at ? [at] : [] });
    await touch('touchStart', from);
    for (let i = 1; i <= 6; i++) await touch('touchMove', { x: from.x + ((to.x - from.x) * i) / 6, y: from.y + ((to.y - from.y) * i) / 6 });
    await touch('touchEnd');
    await expect.poll(() => bars(1)).toBe(before + 1);
    await page.keyboard.press('Control+z');
    await page.mouse.move(from.x, from.y);
    await page.mouse.down();
    await page.mouse.move(to.x, to.y, { steps: 3 });
    await page.keyboard.press('Escape');
    await page.mouse.up();
    await expect.poll(() => bars(1)).toBe(before);
  });

  it('does all of it by keyboard', async () => {
    await page.getByRole('searchbox').fill('hand');
    const before = await lane(0).locator('.device').count();
    await page.getByLabel('For canal').selectOption({ index: 0 });
    // The list follows what was typed a moment later, with other lines than those that had the keys.
    await expect.poll(async () => (await page.locator('.device-line').allInnerTexts()).every((line) => line.includes('Hand file'))).toBe(true);
    await page.locator('.device-line').nth(2).press('Enter');
    await expect.poll(() => lane(0).locator('.device').count()).toBeGreaterThan(before);
    const tip = page.locator('.device.selected .tip');
    await tip.focus();
    await page.keyboard.press('Shift+ArrowLeft');
    await page.getByRole('button', { name: /^Take back: .* held in/ }).waitFor();
    await page.keyboard.press('Control+z');
    await page.keyboard.press('Control+z');
    await expect.poll(() => lane(0).locator('.device').count()).toBe(before);
  });

  it('tells where a number comes from', async () => {
    await page.locator('.lane .origin').first().click();
    const told = page.getByRole('dialog', { name: 'Where this number comes from' });
    expect(await told.innerText()).toMatch(/docs\/methods\/tracing\.md/);
    expect(await accessibilityFaults(page)).toEqual([]);
    await picture(page, '23-origin');
    await page.keyboard.press('Escape');
    await told.waitFor({ state: 'detached' });
  });

  it('makes the plan with progress, stops when told, and begins again', async () => {
    // Another tray asks for another plan.
    const now = (await (await fetch(`${program.url}api/tray`)).json()) as { devices: unknown[] };
    const put = await fetch(`${program.url}api/tray`, { method: 'PUT', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ ...now, devices: now.devices.slice(0, -1) }) });
    expect(put.status).toBe(200);
    await page.goto('about:blank');
    await page.goto(`/#/case/${caseId}`);
    await page.locator('.making progress').waitFor();
    await page.getByRole('button', { name: 'Stop working out' }).click();
    await page.getByText('Working it out was stopped').waitFor();
    await page.getByRole('button', { name: 'Work out the plan again' }).click();
    await page.locator('.order li').first().waitFor({ timeout: 120_000 });
  });

  it('speaks German with the decimal comma, and numbers teeth both ways', async () => {
    await page.getByRole('button', { name: 'Settings' }).click();
    await page.getByRole('dialog').getByText('Universal (1 to 32)').click();
    // 34 is the lower left first premolar, 21 in the Universal system (from memory).
    await expect.poll(() => page.locator('.tooth-name').innerText()).toMatch(/21$/);
    await page.getByRole('dialog').getByText('Deutsch').click();
    await page.getByRole('dialog').getByText('ISO 3950 (zweistellig)').click();
    await page.keyboard.press('Escape');
    await expect.poll(() => page.locator('.tooth-name').innerText()).toMatch(/prämolar.*34$/i);
    expect(await page.locator('.lane .depth').first().innerText()).toMatch(/\d,\d/);
    expect(await page.evaluate(() => document.documentElement.lang)).toBe('de');
    const shown = (await page.locator('.ruler, .readings, .top, .plan-head, .tooth3d').allInnerTexts()).join('\n');
    const strays = Object.entries(ENGLISH)
      .filter(([key, text]) => text !== GERMAN[key as keyof typeof GERMAN] && / /.test(text) && !text.includes('{'))
      .map(([, text]) => text)
      .filter((text) => shown.includes(text));
    expect(strays).toEqual([]);
    await picture(page, '24-ruler-german');
    expect(await accessibilityFaults(page)).toEqual([]);
  });

  it('never failed in the browser and never asked another machine', () => {
    expect(seen.errors).toEqual([]);
    expect(seen.strangers).toEqual([]);
  });
});
