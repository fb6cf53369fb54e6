import type { Locator, Page } from 'playwright-core';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Tooth } from '../src/api/documents';
import type { Brick } from '../src/model/brick';
import { canalAt } from '../src/model/canal';
import { type GridGeometry } from '../src/model/grid';
import { fittedPlane, gridSections } from '../src/model/planes';
import { THIN, planeSurface, renderSurface } from '../src/model/surface';
import { accessibilityFaults, picture } from './browser';
import { neverFailed, onStage } from './stage';

describe('reading and correcting a traced tooth', () => {
  const stage = onStage({ kind: 'lower-molar', upTo: 'traced' });
  let brick: Brick | null = null;

  const pictureOf = (name: string): Locator => stage.page.locator('.pictures .section', { hasText: name }).locator('.picture');
  const tooth = async (): Promise<Tooth> => ((await (await stage.page.request.get(`api/cases/${stage.caseId}`)).json()) as { tooth: Tooth }).tooth;
  const cursor_mm = async (): Promise<number> => Number(await stage.page.locator('.cursor-bubble').innerText());

  beforeAll(async () => {
    const { page } = stage;
    page.setDefaultTimeout(120_000);
    page.on('response', async (response) => {
      const grid = response.headers()['x-anfract-grid'];
      if (!grid) return;
      const bytes = await response.body();
      brick = { geometry: JSON.parse(grid) as GridGeometry, values: new Int16Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength)) };
    });
    await page.goto(`/#/case/${stage.caseId}`);
    await page.locator('.pictures canvas[data-drawn="yes"]').nth(4).waitFor();
  });

  it('draws on the graphics card what the processor draws', async () => {
    // The reference is the page's own processor way, whose interpolation has exact tests on linear fields.
    const shown = await pictureOf('Axial').locator('canvas').evaluate((canvas: HTMLCanvasElement) => {
      const image = canvas.getContext('2d')?.getImageData(0, 0, canvas.width, canvas.height);
      return { width: canvas.width, height: canvas.height, data: [...(image?.data ?? [])] };
    });
    const [first] = (await tooth()).canals;
    if (!brick || !first) throw new Error('no brick');
    const section = gridSections(brick.geometry)[0];
    if (!section) throw new Error('no section');
    const depth = await stage.page.locator('.lane-picture').first().getAttribute('aria-valuenow');
    const samples = first.samples.depth_mm;
    const middle = ((samples[0] ?? 0) + (samples.at(-1) ?? 0)) / 2;
    expect(Number(depth)).toBeCloseTo(middle, 0);
    const plane = fittedPlane(brick.geometry, section, canalAt(first, middle).point_P, shown.width, shown.height, 1);
    const grey = await greyShown(stage.page);
    const wanted = new Uint8ClampedArray(4 * shown.width * shown.height);
    renderSurface([brick], planeSurface(plane, shown.width, shown.height), THIN, grey, shown.width, shown.height, wanted);
    const apart = [...wanted].map((v, i) => Math.abs(v - (shown.data[i] ?? 0)));
    // One level of 255 for rounding, one more for the card's interpolation; pixels on the border of the brick may
    // fall either way.
    expect(apart.filter((d) => d > 2).length / apart.length).toBeLessThan(0.01);
  });

  it('gives large pictures, with the canal along and an expected radiograph', async () => {
    await stage.page.getByRole('button', { name: 'Large pictures' }).click();
    await stage.page.locator('.rays-picture canvas[data-drawn="yes"]').waitFor();
    await stage.page.waitForTimeout(800);
    await picture(stage.page, '12-reading');
    await stage.page.getByRole('radio', { name: 'As it bends' }).check({ force: true });
    await stage.page.getByRole('radio', { name: '2', exact: true }).check({ force: true });
    await stage.page.waitForTimeout(600);
    await picture(stage.page, '13-reading-layer-bent');
    expect(await accessibilityFaults(stage.page)).toEqual([]);
    await stage.page.getByRole('radio', { name: 'Pulled straight' }).check({ force: true });
    await stage.page.getByRole('radio', { name: 'plane', exact: true }).check({ force: true });
  });

  it('shows more of a layer than of a plane', async () => {
    const mean = async (): Promise<number> =>
      pictureOf('Axial').locator('canvas').evaluate((canvas: HTMLCanvasElement) => {
        const data = canvas.getContext('2d')?.getImageData(0, 0, canvas.width, canvas.height).data ?? new Uint8ClampedArray();
        let sum = 0;
        for (let i = 0; i < data.length; i += 4) sum += data[i] ?? 0;
        return sum / (data.length / 4);
      });
    const plane = await mean();
    await stage.page.getByRole('radio', { name: '4', exact: true }).check({ force: true });
    await stage.page.getByRole('radio', { name: 'Brightest' }).check({ force: true });
    await expect.poll(mean).toBeGreaterThan(plane + 5);
    await stage.page.getByRole('radio', { name: 'Darkest' }).check({ force: true });
    await expect.poll(mean).toBeLessThan(plane - 5);
    await stage.page.getByRole('radio', { name: 'plane', exact: true }).check({ force: true });
  });

  it('turns the expected radiograph to the angles the measures give', async () => {
    const measures = (await (await stage.page.request.get(`api/cases/${stage.caseId}/measures`)).json()) as { separation: { best: { turn_deg: number } } };
    const turn = measures.separation.best.turn_deg;
    expect(turn).not.toBe(0);
    await stage.page.locator('.angles button', { hasText: `${Math.abs(turn)}°` }).first().click();
    await expect.poll(() => stage.page.locator('.rays-picture figcaption').innerText()).toContain(`${Math.abs(turn)}°`);
    await stage.page.waitForTimeout(500);
    await picture(stage.page, '14-radiograph-turned');
  });

  it('follows a press in a picture with the ruler', async () => {
    const before = await cursor_mm();
    const box = await pictureOf('Along').boundingBox();
    if (!box) throw new Error('no picture');
    await stage.page.mouse.click(box.x + box.width * 0.7, box.y + box.height / 2);
    const [first] = (await tooth()).canals;
    const from = (first?.samples.depth_mm[0] ?? 0) - 1.5;
    const to = (first?.samples.depth_mm.at(-1) ?? 0) + 1.5;
    await expect.poll(cursor_mm).toBeCloseTo(from + 0.7 * (to - from), 0);
    expect(await cursor_mm()).not.toBe(before);
  });

  it('measures a length to scale and an angle', async () => {
    await stage.page.locator('.reading-panel label', { hasText: 'Length' }).click();
    const box = await pictureOf('Across').boundingBox();
    if (!box) throw new Error('no picture');
    const y = box.y + box.height / 2;
    await stage.page.mouse.click(box.x + box.width / 2 - 30, y);
    await stage.page.mouse.click(box.x + box.width / 2 + 30, y);
    // The picture across is 8 mm wide on its shorter side.
    const wanted = (60 * 8) / Math.min(box.width, box.height);
    const text = await stage.page.locator('.measured .number').first().innerText();
    expect(Math.abs(Number.parseFloat(text) - wanted)).toBeLessThan(0.02);
    await stage.page.locator('.reading-panel label', { hasText: 'Angle' }).click();
    for (const [dx, dy] of [[-30, 0], [0, 0], [0, -30]] as const) await stage.page.mouse.click(box.x + box.width / 2 + dx, y + dy);
    expect(Number.parseFloat(await stage.page.locator('.measured .number').nth(1).innerText())).toBeCloseTo(90, 0);
    await stage.page.waitForTimeout(300);
    await picture(stage.page, '15-measured');
    await stage.page.getByRole('button', { name: /^Forget/ }).first().click();
    expect(await stage.page.locator('.measured li').count()).toBe(1);
    await stage.page.locator('.reading-panel label', { hasText: 'moves the cursor' }).click();
  });

  it('corrects a canal by its handle, with the fit following, and takes it back', async () => {
    const before = await tooth();
    await stage.page.getByRole('button', { name: 'Take the canals in hand' }).click();
    await stage.page.getByRole('button', { name: 'Done' }).waitFor({ timeout: 240_000 });
    const handle = stage.page.locator('.across-picture .handle.middle .press');
    const at = await handle.boundingBox();
    if (!at) throw new Error('no handle');
    const [x, y] = [at.x + at.width / 2, at.y + at.height / 2];
    const answers: number[] = [];
    stage.page.on('requestfinished', (request) => {
      if (request.url().endsWith('/edits') && request.method() === 'POST') answers.push(request.timing().responseEnd);
    });
    await stage.page.mouse.move(x, y);
    await stage.page.mouse.down();
    for (let i = 1; i <= 8; i++) {
      await stage.page.mouse.move(x + i, y);
      await stage.page.waitForTimeout(60);
    }
    await picture(stage.page, '16-correcting');
    await stage.page.mouse.up();
    await stage.page.getByText('Corrections: 1.').waitFor();
    await stage.page.locator('.correct[aria-busy="false"]').waitFor();
    const after = await tooth();
    expect(after.canals[0]?.by_hand).toBe(true);
    expect(after.canals[0]?.samples.point_mm).not.toEqual(before.canals[0]?.samples.point_mm);
    expect(answers.length).toBeGreaterThan(1);
    await stage.page.keyboard.press('Control+z');
    await expect.poll(async () => (await tooth()).canals[0]?.samples.point_mm).toEqual(before.canals[0]?.samples.point_mm);
    await stage.page.keyboard.press('Control+Shift+z');
    await expect.poll(async () => (await tooth()).canals[0]?.samples.point_mm).toEqual(after.canals[0]?.samples.point_mm);
  });

  it('corrects by key, and remembers the corrections when the page is opened again', async () => {
    await pictureOf('Across').focus();
    for (let i = 0; i < 3; i++) await stage.page.keyboard.press('+');
    await stage.page.getByText('Corrections: 2.').waitFor();
    await stage.page.locator('.correct[aria-busy="false"]').waitFor();
    expect(await accessibilityFaults(stage.page)).toEqual([]);
    await stage.page.reload();
    await stage.page.getByRole('button', { name: /^Take back: / }).first().waitFor();
    await stage.page.getByRole('button', { name: 'Large pictures' }).click();
    await stage.page.getByText('Corrections: 2.').waitFor();
  });

  it('takes an outline drawn with a free hand, with the fit following, and takes it back', async () => {
    await stage.page.getByRole('button', { name: 'Take the canals in hand' }).click();
    await stage.page.getByRole('button', { name: 'Draw the outline' }).click();
    const before = await tooth();
    const box = await stage.page.locator('.across-picture .pen rect').boundingBox();
    if (!box) throw new Error('no pen');
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    // A ring of 0.8 mm across; the picture is 8 mm wide on its shorter side.
    const radius = (0.4 * Math.min(box.width, box.height)) / 8;
    await stage.page.mouse.move(x + radius, y);
    await stage.page.mouse.down();
    for (let i = 1; i <= 40; i++) await stage.page.mouse.move(x + radius * Math.cos((i * Math.PI) / 20), y + radius * Math.sin((i * Math.PI) / 20));
    // Within a pixel and a half: what the hand drew is a polygon.
    await expect.poll(async () => Math.abs(Number(await stage.page.locator('.across-picture .outline ellipse').getAttribute('rx')) - radius)).toBeLessThan(1.5);
    await picture(stage.page, '17-outline');
    await stage.page.mouse.up();
    await stage.page.getByText('Corrections: 3.').waitFor();
    await stage.page.locator('.correct[aria-busy="false"]').waitFor();
    const after = await tooth();
    const at = (of: Tooth): number => of.canals[0]?.samples.depth_mm.findIndex((d) => d >= depth_mm) ?? 0;
    const depth_mm = await cursor_mm();
    expect(after.canals[0]?.samples.diameter_mm[at(after)]).toBeCloseTo(0.8, 1);
    await stage.page.keyboard.press('Control+z');
    await expect.poll(async () => (await tooth()).canals[0]?.samples.diameter_mm).toEqual(before.canals[0]?.samples.diameter_mm);
    await stage.page.keyboard.press('Control+Shift+z');
    await expect.poll(async () => (await tooth()).canals[0]?.samples.diameter_mm).toEqual(after.canals[0]?.samples.diameter_mm);
  });

  it('does not overwrite what another browser corrected meanwhile', async () => {
    const other = await stage.another();
    other.setDefaultTimeout(120_000);
    await other.goto(`/#/case/${stage.caseId}`);
    await other.getByRole('button', { name: 'Large pictures' }).click();
    await other.getByText('Corrections: 3.').waitFor();
    // The first browser takes one back; the second does not know.
    await stage.page.keyboard.press('Control+z');
    await stage.page.getByText('Corrections: 2.').waitFor();
    await stage.page.locator('.correct[aria-busy="false"]').waitFor();
    const kept = await tooth();
    await other.getByRole('button', { name: 'Take the canals in hand' }).click();
    await other.getByRole('button', { name: 'Done' }).waitFor();
    const across = other.locator('.pictures .section', { hasText: 'Across' }).locator('.picture');
    await across.focus();
    await other.keyboard.press('+');
    await other.getByText('corrected elsewhere meanwhile').waitFor();
    await other.getByText('Corrections: 2.').waitFor();
    expect(await tooth()).toEqual(kept);
    expect(await accessibilityFaults(other)).toEqual([]);
    // It now stands on what is there, so the same press is taken.
    await across.focus();
    await other.keyboard.press('+');
    await other.getByText('Corrections: 3.').waitFor();
    await expect.poll(tooth).not.toEqual(kept);
    await other.context().close();
  });

  neverFailed(stage);
});

/** The grey window in use, from its sliders' values, which are rounded to whole grey values. */
async function greyShown(page: Page): Promise<{ low: number; high: number }> {
  await page.getByRole('button', { name: 'Large pictures' }).click();
  const values = await page.locator('.grey output').allInnerTexts();
  await page.getByRole('button', { name: 'Small pictures' }).click();
  const [low, high] = values.map((v) => Number(v.replace('−', '-')));
  if (low === undefined || high === undefined) throw new Error('no grey window');
  return { low, high };
}
