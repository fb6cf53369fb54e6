import type { Locator } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { GERMAN } from '../src/model/words/de';
import { ENGLISH } from '../src/model/words/en';
import { accessibilityFaults, picture } from './browser';
import { neverFailed, onStage } from './stage';

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
  const stage = onStage({ kind: 'lower-premolar', upTo: 'planned', context: { hasTouch: true }, settings: { guided: true } });

  const lane = (n: number): Locator => stage.page.locator('.lane').nth(n);
  const bars = (n: number): Promise<number> => lane(n).locator('.device').count();
  const tray = (): Promise<void> => stage.page.getByRole('radiogroup', { name: 'Plan, comparison, tray or figures' }).getByText('Tray').click();
  /** Searches and waits for the list, which follows what was typed a moment later. */
  const listed = async (words: string, name: string): Promise<void> => {
    await stage.page.getByRole('searchbox').fill(words);
    await expect.poll(async () => (await stage.page.locator('.device-line').allInnerTexts()).every((line) => line.includes(name))).toBe(true);
  };
  const open = async (): Promise<void> => {
    await stage.page.goto('about:blank');
    await stage.page.goto(`/#/case/${stage.caseId}`);
    await stage.page.locator('.order li').first().waitFor({ timeout: 120_000 });
    await stage.page.locator('.ruler [role=status]').waitFor({ state: 'detached', timeout: 120_000 });
  };

  it('finds devices by words, kind and what reaches, and says why each ends', async () => {
    await open();
    await tray();
    const all = Number((await stage.page.locator('.tray [role=status]').innerText()).split(' ')[0]);
    await stage.page.getByRole('searchbox').fill('rotary 25 mm');
    await stage.page.getByLabel('Reaches').selectOption('work');
    await expect.poll(async () => Number((await stage.page.locator('.tray [role=status]').innerText()).split(' ')[0])).toBeLessThan(all);
    const first = stage.page.locator('.device-line').first();
    expect(await first.innerText()).toMatch(/Rotary.*\d+\.\d\smm/s);
    // One sentence with the number that decided.
    expect(await first.getAttribute('title')).toMatch(/\d.*\./);
    await picture(stage.page, '22-tray');
    expect(await accessibilityFaults(stage.page)).toEqual([]);
  });

  it('draws only the devices in sight', async () => {
    await stage.page.getByRole('searchbox').fill('');
    await stage.page.getByLabel('Reaches').selectOption('');
    expect(await stage.page.locator('.device-line').count()).toBeLessThan(60);
    await stage.page.locator('.virtual').evaluate((e) => e.scrollTo(0, e.scrollHeight));
    const last = stage.page.locator('.virtual [role=listitem]').last();
    await expect.poll(async () => (await last.getAttribute('aria-posinset')) === (await last.getAttribute('aria-setsize'))).toBe(true);
    await stage.page.locator('.virtual').evaluate((e) => e.scrollTo(0, 0));
  });

  it('puts a device into a lane by dragging it there, and takes it back', async () => {
    await listed('rotary', 'Rotary file');
    const fold = lane(1).locator('.fold');
    if ((await fold.getAttribute('aria-expanded')) === 'false') await fold.click();
    const before = await bars(1);
    const from = await middle(stage.page.locator('.device-line').nth(1));
    const to = await middle(lane(1).locator('.band'));
    await stage.page.mouse.move(from.x, from.y);
    await stage.page.mouse.down();
    await stage.page.mouse.move(to.x, to.y, { steps: 5 });
    await lane(1).and(stage.page.locator('[data-drop]')).waitFor();
    await stage.page.mouse.up();
    await expect.poll(() => bars(1)).toBe(before + 1);
    await stage.page.keyboard.press('Control+z');
    await expect.poll(() => bars(1)).toBe(before);
    await stage.page.getByRole('button', { name: /^Do again: rotary/ }).click();
    await expect.poll(() => bars(1)).toBe(before + 1);
    await stage.page.getByRole('button', { name: /^Take back: rotary/ }).click();
    await expect.poll(() => bars(1)).toBe(before);
  });

  it('takes it from a finger as well, and lets go of it on Escape', async () => {
    const before = await bars(1);
    const from = await middle(stage.page.locator('.device-line').first());
    const to = await middle(lane(1).locator('.band'));
    const finger = await stage.page.context().newCDPSession(stage.page);
    const touch = (type: string, at?: Point): Promise<unknown> => finger.send('Input.dispatchTouchEvent', { type: type as 'touchStart', touchPoints: at ? [at] : [] });
    await touch('touchStart', from);
    for (let i = 1; i <= 6; i++) await touch('touchMove', { x: from.x + ((to.x - from.x) * i) / 6, y: from.y + ((to.y - from.y) * i) / 6 });
    await touch('touchEnd');
    await expect.poll(() => bars(1)).toBe(before + 1);
    await stage.page.keyboard.press('Control+z');
    await stage.page.mouse.move(from.x, from.y);
    await stage.page.mouse.down();
    await stage.page.mouse.move(to.x, to.y, { steps: 3 });
    await stage.page.keyboard.press('Escape');
    await stage.page.mouse.up();
    await expect.poll(() => bars(1)).toBe(before);
  });

  it('does all of it by keyboard', async () => {
    await listed('hand', 'Hand file');
    const before = await lane(0).locator('.device').count();
    await stage.page.getByLabel('For canal').selectOption({ index: 0 });
    // The largest in sight, which no order of so narrow a canal holds already.
    await stage.page.locator('.device-line').last().press('Enter');
    await expect.poll(() => lane(0).locator('.device').count()).toBeGreaterThan(before);
    const tip = stage.page.locator('.device.selected .tip');
    await tip.focus();
    await stage.page.keyboard.press('Shift+ArrowLeft');
    await stage.page.getByRole('button', { name: /^Take back: .* held in/ }).waitFor();
    await stage.page.keyboard.press('Control+z');
    await stage.page.keyboard.press('Control+z');
    await expect.poll(() => lane(0).locator('.device').count()).toBe(before);
  });

  it('lays two orders side by side, with what could go wrong and what one more item would change', async () => {
    await stage.page.getByRole('radiogroup', { name: 'Plan, comparison, tray or figures' }).getByText('Compare').click();
    const pair = stage.page.locator('.orders .pair > section');
    expect(await pair.count()).toBe(2);
    for (const side of [0, 1]) expect(await pair.nth(side).locator('ol li').count()).toBeGreaterThan(0);
    // Comparing an order with itself shows no difference.
    const [left, right] = [pair.nth(0).locator('select'), pair.nth(1).locator('select')];
    await right.selectOption(await left.inputValue());
    await expect.poll(() => pair.nth(1).locator('ol').innerText()).toBe(await pair.nth(0).locator('ol').innerText());
    expect(await stage.page.locator('.orders em').count()).toBe(0);
    expect(await stage.page.locator('.orders article').first().innerText()).toMatch(/What could go wrong[\s\S]*%/);
    await stage.page.locator('.orders summary').first().click();
    expect(await accessibilityFaults(stage.page)).toEqual([]);
    await picture(stage.page, '22-compare');
    await tray();
  });

  it('tells where a number comes from', async () => {
    await stage.page.locator('.lane .origin').first().click();
    const told = stage.page.getByRole('dialog', { name: 'Where this number comes from' });
    expect(await told.innerText()).toMatch(/docs\/methods\/tracing\.md/);
    expect(await accessibilityFaults(stage.page)).toEqual([]);
    await picture(stage.page, '23-origin');
    await stage.page.keyboard.press('Escape');
    await told.waitFor({ state: 'detached' });
  });

  it('makes the plan with progress, stops when told, and begins again', async () => {
    // Another tray asks for another plan.
    const now = (await (await fetch(`${stage.program.url}api/tray`)).json()) as { devices: unknown[] };
    const put = await fetch(`${stage.program.url}api/tray`, { method: 'PUT', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ ...now, devices: now.devices.slice(0, -1) }) });
    expect(put.status).toBe(200);
    await stage.page.goto('about:blank');
    await stage.page.goto(`/#/case/${stage.caseId}`);
    await stage.page.locator('.making progress').waitFor();
    await stage.page.getByRole('button', { name: 'Stop working out' }).click();
    await stage.page.getByText('Working it out was stopped').waitFor();
    await stage.page.getByRole('button', { name: 'Work out the plan again' }).click();
    await stage.page.locator('.order li').first().waitFor({ timeout: 120_000 });
  });

  it('speaks German with the decimal comma, and numbers teeth both ways', async () => {
    await stage.page.getByRole('button', { name: 'Settings' }).click();
    await stage.page.getByRole('dialog').getByText('Universal (1 to 32)').click();
    // 34 is the lower left first premolar, 21 in the Universal system (from memory).
    await expect.poll(() => stage.page.locator('.tooth-name').innerText()).toMatch(/21$/);
    await stage.page.getByRole('dialog').getByText('Deutsch').click();
    await stage.page.getByRole('dialog').getByText('ISO 3950 (zweistellig)').click();
    await stage.page.keyboard.press('Escape');
    await expect.poll(() => stage.page.locator('.tooth-name').innerText()).toMatch(/prämolar.*34$/i);
    expect(await stage.page.locator('.lane .depth').first().innerText()).toMatch(/\d,\d/);
    expect(await stage.page.evaluate(() => document.documentElement.lang)).toBe('de');
    const shown = (await stage.page.locator('.ruler, .readings, .top, .plan-head, .tooth3d').allInnerTexts()).join('\n');
    const strays = Object.entries(ENGLISH)
      .filter(([key, text]) => text !== GERMAN[key as keyof typeof GERMAN] && / /.test(text) && !text.includes('{'))
      .map(([, text]) => text)
      .filter((text) => shown.includes(text));
    expect(strays).toEqual([]);
    await picture(stage.page, '24-ruler-german');
    expect(await accessibilityFaults(stage.page)).toEqual([]);
  });

  neverFailed(stage);
});
