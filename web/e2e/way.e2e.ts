import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { accessibilityFaults, picture } from './browser';
import { type InventedCase, zipped } from './program';
import { neverFailed, onStage } from './stage';

/** A place of the scan in a section: pixels from the patient frame by the section's own title and size. */
async function markInside(page: Page, made: InventedCase): Promise<void> {
  // The axial section goes through the middle of the scan; the keys and clicks a user has bring it to the chamber.
  const scan = (await (await page.request.get('api/scans')).json()) as { scans: { geometry: Geometry }[] };
  const geometry = scan.scans[0]?.geometry;
  if (!geometry) throw new Error('no scan');
  await clickAt(page, 'Coronal', geometry, made.inside_mm, 0, 2);
  await clickAt(page, 'Axial', geometry, made.inside_mm, 0, 1);
}

interface Geometry {
  size: number[];
  spacing_mm: number[];
  origin_mm: number[];
  direction: number[];
}

/** Clicks a patient point in a section of an upright grid shown whole. */
async function clickAt(page: Page, section: string, g: Geometry, point: readonly number[], across: 0 | 1, along: 1 | 2): Promise<void> {
  const area = page.locator('.section', { hasText: section }).locator('.picture');
  const box = await area.boundingBox();
  if (!box) throw new Error(`no ${section} section`);
  const extent = (a: number): number => (g.size[a] ?? 0) * (g.spacing_mm[a] ?? 0);
  const middle = (a: number): number => (g.origin_mm[a] ?? 0) + (((g.size[a] ?? 0) - 1) / 2) * (g.spacing_mm[a] ?? 0) * Math.sign(g.direction[a * 4] ?? 1);
  const mm_per_px = Math.max(extent(across) / box.width, extent(along) / box.height);
  const down = along === 2 ? -1 : 1;
  await area.click({
    position: {
      x: box.width / 2 + ((point[across] ?? 0) - middle(across)) / mm_per_px,
      y: box.height / 2 + (down * ((point[along] ?? 0) - middle(along))) / mm_per_px,
    },
  });
}

describe('the way from a scan to the letter', () => {
  const stage = onStage({ kind: 'lower-molar' });

  it('begins empty and says what to do', async () => {
    await stage.page.goto('/');
    await stage.page.getByText('No scan yet').waitFor();
    expect(await stage.page.locator('.cautions').innerText()).toMatch(/not a cleared medical device/i);
    await picture(stage.page, '1-start-empty');
  });

  it('says in a sentence what is wrong with a path', async () => {
    await stage.page.getByLabel('Folder or file of the scan').fill('/nowhere/at/all');
    await stage.page.getByRole('button', { name: 'Open', exact: true }).click();
    const sentence = await stage.page.getByRole('alert').first().innerText();
    expect(sentence).toContain('/nowhere/at/all');
    expect(sentence.length).toBeGreaterThan(25);
    await picture(stage.page, '2-start-bad-path');
    expect(await accessibilityFaults(stage.page)).toEqual([]);
  });

  it('takes in a scan that is chosen as a file, and shows three sections of it', async () => {
    const file = zipped(stage.made.scan, `${stage.folder}/scan.zip`);
    const chooser = stage.page.waitForEvent('filechooser');
    await stage.page.locator('.file button').first().click();
    await (await chooser).setFiles(file);
    await stage.page.waitForURL(/#\/scan\//);
    await stage.page.locator('.picture .empty').first().waitFor({ state: 'detached', timeout: 60_000 });
    expect(await stage.page.locator('.invented').first().innerText()).toBe('Invented data');
    for (const name of ['Axial', 'Coronal', 'Sagittal']) await expect.poll(() => greyLevels(stage.page, name)).toBeGreaterThan(20);
    await picture(stage.page, '3-locate');
  });

  it('moves through the scan by wheel and keys, and windows by tissue', async () => {
    const axial = stage.page.locator('.section', { hasText: 'Axial' });
    const title = (): Promise<string> => axial.locator('figcaption').innerText();
    const before = await title();
    await axial.locator('.picture').hover();
    await stage.page.mouse.wheel(0, 120);
    await expect.poll(title).not.toBe(before);
    await axial.locator('.picture').focus();
    await stage.page.keyboard.press('PageUp');
    await expect.poll(title).toBe(before);
    await stage.page.getByRole('button', { name: 'Canal in dentine' }).click();
    await stage.page.getByRole('button', { name: 'Canal in dentine', pressed: true }).waitFor();
  });

  it('marks the chamber, names the tooth and can stop tracing', async () => {
    await markInside(stage.page, stage.made);
    await stage.page.getByRole('radio', { name: /^37,/ }).check({ force: true });
    await stage.page.getByText('lower left second molar').waitFor();
    await picture(stage.page, '4-locate-marked');
    expect(await accessibilityFaults(stage.page)).toEqual([]);
    await stage.page.getByRole('button', { name: 'Trace the canals' }).click();
    await stage.page.locator('progress').waitFor();
    await stage.page.getByRole('button', { name: 'Stop tracing' }).click();
    await stage.page.getByText('Tracing was stopped').waitFor({ timeout: 10_000 });
  });

  it('traces with progress and arrives at the ruler', async () => {
    await stage.page.getByRole('button', { name: 'Trace the canals' }).click();
    const progress = stage.page.locator('progress');
    await progress.waitFor();
    await picture(stage.page, '5-locate-tracing');
    await stage.page.waitForURL(/#\/case\//, { timeout: 240_000 });
    await stage.page.locator('.lane').first().waitFor();
    expect(await stage.page.locator('.lane').count()).toBeGreaterThanOrEqual(2);
    await stage.page.locator('.order li').first().waitFor({ timeout: 240_000 });
    await stage.page.locator('.ruler [role=status]').waitFor({ state: 'detached', timeout: 120_000 });
    await picture(stage.page, '6-ruler');
  });

  it('shows on the ruler the passage behind a line of the plan', async () => {
    const step = stage.page.locator('.plan .step').first();
    await step.click();
    await stage.page.locator('.device.selected').waitFor();
    await stage.page.locator('.profile .strain-line').waitFor();
    const stop = await step.locator('.number').first().innerText();
    expect(await stage.page.locator('.device.selected .bar text').textContent()).toMatch(/mm/);
    expect(stop).toMatch(/\d+\.\d\d\smm/);
    expect(await stage.page.locator('.of-device').innerText()).toContain('half way back');
    const beyond = await stage.page.locator('.readings').evaluate((panel) => panel.scrollWidth - panel.clientWidth);
    expect(beyond).toBeLessThanOrEqual(0);
    await picture(stage.page, '7-ruler-passage');
    expect(await accessibilityFaults(stage.page)).toEqual([]);
  });

  it('shows the same depth in the readings, the sections and the bubble', async () => {
    const lane = stage.page.locator('.lane-picture').first();
    await lane.focus();
    await stage.page.keyboard.press('Home');
    for (let i = 0; i < 20; i++) await stage.page.keyboard.press('ArrowRight');
    const bubble = await stage.page.locator('.cursor-bubble').innerText();
    expect(await stage.page.locator('.readings h2').innerText()).toContain(bubble);
    expect(await stage.page.locator('.pictures figcaption').first().innerText()).toContain(bubble);
    expect(await lane.getAttribute('aria-valuenow')).toBe(String(Number(bubble)));
  });

  it('rehearses a device live while its end is dragged', async () => {
    await stage.page.getByRole('button', { name: /^Add a device to/ }).first().click();
    await stage.page.getByRole('searchbox').fill('rotary');
    await stage.page.locator('.device-line').first().waitFor();
    await picture(stage.page, '8-tray');
    await stage.page.locator('.device-line').first().click();
    const bar = stage.page.locator('.device.selected');
    await bar.locator('.strain-line').waitFor();
    const peak = (): Promise<string> => stage.page.locator('.of-device dd').filter({ hasText: '%' }).first().innerText();
    const strainBefore = await peak();
    const shapeBefore = await bar.locator('.strain-line').getAttribute('points');
    const tip = await bar.locator('.tip').boundingBox();
    if (!tip) throw new Error('no tip');
    await stage.page.mouse.move(tip.x + tip.width / 2, tip.y + tip.height / 2);
    await stage.page.mouse.down();
    for (let i = 1; i <= 12; i++) await stage.page.mouse.move(tip.x + tip.width / 2 - i * 8, tip.y + tip.height / 2);
    await stage.page.mouse.up();
    await stage.page.locator('.of-device[aria-busy="false"]').waitFor();
    expect(await bar.locator('.bar text').textContent()).toContain('held');
    expect(await bar.locator('.strain-line').getAttribute('points')).not.toBe(shapeBefore);
    expect(await peak()).not.toBe(strainBefore);
    await picture(stage.page, '9-ruler-held');
    await bar.locator('.tip').focus();
    await stage.page.keyboard.press('Escape');
    await expect.poll(peak).toBe(strainBefore);
  });

  it('tells the curves and the class', async () => {
    await stage.page.getByText('Curves', { exact: true }).click();
    await stage.page.locator('.figures-table').first().waitFor();
    await picture(stage.page, '10-figures');
  });

  it('gives the letter as a PDF', async () => {
    const address = await stage.page.locator('a.letter').getAttribute('href');
    const reply = await stage.page.request.get(address ?? '');
    expect(reply.status()).toBe(200);
    expect(reply.headers()['content-type']).toContain('application/pdf');
    expect((await reply.body()).subarray(0, 5).toString()).toBe('%PDF-');
  });

  it('lists the case on the first page', async () => {
    await stage.page.goto('/#/');
    await stage.page.getByRole('link', { name: 'Open the ruler' }).first().waitFor();
    await picture(stage.page, '11-start');
  });

  it('opens a scan by its path as well', async () => {
    await stage.page.getByLabel('Folder or file of the scan').fill(stage.made.scan);
    await stage.page.getByRole('button', { name: 'Open', exact: true }).click();
    await stage.page.waitForURL(/#\/scan\//);
    await expect.poll(() => greyLevels(stage.page, 'Axial')).toBeGreaterThan(20);
  });

  neverFailed(stage);
});

/** Count of different grey levels in a section's canvas: an empty picture has one. */
async function greyLevels(page: Page, name: string): Promise<number> {
  return page
    .locator('.section', { hasText: name })
    .locator('canvas')
    .evaluate((canvas: HTMLCanvasElement) => {
      const data = canvas.getContext('2d')?.getImageData(0, 0, canvas.width, canvas.height).data ?? [];
      const levels = new Set<number>();
      for (let i = 0; i < data.length; i += 4) levels.add(data[i] ?? 0);
      return levels.size;
    });
}
