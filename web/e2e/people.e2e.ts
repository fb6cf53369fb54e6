import type { Locator, Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { saidIn } from '../src/model/said';
import { SIZES, accessibilityFaults } from './browser';
import { neverFailed, onStage } from './stage';

/** Least size of what is pressed: 24 px, WCAG 2.2 success criterion 2.5.8 (AA); inline links in text are excepted there. */
const TARGET_PX = 24;

describe('people who work differently', () => {
  const stage = onStage({ kind: 'lower-premolar', upTo: 'planned' });

  /** Goes on with Tab to an element; each stop on the way must show where the keys are. */
  async function tabTo(page: Page, to: Locator): Promise<void> {
    for (let i = 0; i < 150; i++) {
      await page.keyboard.press('Tab');
      expect(await page.evaluate(hasVisibleFocus)).toBe('');
      if (await to.evaluate((e) => e === document.activeElement)) return;
    }
    throw new Error(`not reached with Tab: ${to}`);
  }

  it('come from the list to the last step at the chair by keys alone', async () => {
    const { page } = stage;
    await page.goto('/');
    const ruler = page.getByRole('link', { name: 'Open the ruler' });
    await ruler.waitFor();
    await tabTo(page, ruler);
    await page.keyboard.press('Enter');
    await page.locator('.order li').first().waitFor();
    const lane = page.locator('.lane-picture').first();
    await tabTo(page, lane);
    const before = await lane.getAttribute('aria-valuenow');
    await page.keyboard.press('ArrowRight');
    await expect.poll(() => lane.getAttribute('aria-valuenow')).not.toBe(before);
    await tabTo(page, page.locator('.plan .step').first());
    await page.keyboard.press('Enter');
    await page.locator('.device.selected .strain-line').waitFor();
    await tabTo(page, page.locator('.device.selected .tip'));
    await page.keyboard.press('ArrowLeft');
    await page.locator('.device.selected .tip.held').waitFor();
    await page.keyboard.press('Control+z');
    await page.locator('.device.selected .tip.held').waitFor({ state: 'detached' });
    await page.getByRole('link', { name: 'At the chair' }).focus();
    await page.keyboard.press('Enter');
    await page.locator('.face h2').waitFor();
    await tabTo(page, page.getByRole('button', { name: 'Note' }));
    await page.keyboard.press('Enter');
    await page.getByRole('dialog').waitFor();
    await page.keyboard.press('Escape');
    await page.getByRole('dialog').waitFor({ state: 'detached' });
    const step = await page.locator('.face').innerText();
    await page.evaluate(() => document.querySelector<HTMLElement>('#chair-main')?.focus());
    await tabTo(page, page.getByRole('button', { name: 'Done, next' }));
    await page.keyboard.press('Enter');
    await expect.poll(() => page.locator('.face').innerText()).not.toBe(step);
  });

  it('meet no fault on any page, in any tab, in both looks', async () => {
    const { page } = stage;
    for (const address of ['/#/', '/#/nowhere', `/#/case/${stage.caseId}`]) {
      await page.goto('about:blank');
      await page.goto(address);
      await page.locator('main h1, main h2, .lane').first().waitFor();
      expect(await accessibilityFaults(page), address).toEqual([]);
    }
    await page.locator('.order li').first().waitFor();
    for (const tab of ['Compare', 'Tray', 'Curves', 'Plan']) {
      await page.getByRole('radiogroup', { name: 'Plan, comparison, tray or figures' }).getByText(tab).click();
      expect(await accessibilityFaults(page), tab).toEqual([]);
    }
    for (const button of ['Settings', 'How to read the ruler']) {
      const opens = page.getByRole('button', { name: button });
      if ((await opens.count()) === 0) continue;
      await opens.click();
      expect(await accessibilityFaults(page), button).toEqual([]);
      await page.keyboard.press('Escape');
    }
  });

  it('read German: every sentence of the program has one', async () => {
    const get = async (path: string): Promise<unknown> => (await stage.page.request.get(path)).json();
    const plan = await get(`api/cases/${stage.caseId}/plan`);
    const rest = [await get('api/about'), await get(`api/cases/${stage.caseId}/passages`), await get(`api/cases/${stage.caseId}`)];
    const [scan] = ((await get('api/scans')) as { scans: { id: string }[] }).scans;
    const { verdict, problems } = ((await get(`api/scans/${scan?.id}`)) as { survey: { verdict: string[]; problems: string[] } }).survey;
    const survey = { verdict, problems };
    const all = new Set([plan, ...rest, survey].flatMap((document) => sentencesIn(document)));
    expect(all.size).toBeGreaterThan(50);
    expect([...all].filter((sentence) => saidIn('de', sentence) === null)).toEqual([]);
    const { devices } = (await get('api/tray')) as { devices: { name: string }[] };
    expect(devices.filter(({ name }) => saidIn('de', name) === null).map(({ name }) => name)).toEqual([]);
  });

  it('scroll one way only at twice the size', async () => {
    const page = await stage.another({ viewport: { width: 640, height: 400 } });
    const spill = (): Promise<number> => page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    const [scan] = ((await (await page.request.get('api/scans')).json()) as { scans: { id: string }[] }).scans;
    for (const address of ['/#/', `/#/scan/${scan?.id}`, `/#/case/${stage.caseId}`, `/#/case/${stage.caseId}/chair`]) {
      await page.goto('about:blank');
      await page.goto(address);
      await page.locator('h1, h2').first().waitFor();
      await expect.poll(spill, { message: address }).toBeLessThanOrEqual(0);
      if (!address.endsWith(stage.caseId)) continue;
      await page.locator('.order li').first().waitFor();
      for (const tab of ['Compare', 'Tray', 'Curves', 'Plan']) {
        await page.getByRole('radiogroup', { name: 'Plan, comparison, tray or figures' }).getByText(tab).click();
        await expect.poll(spill, { message: tab }).toBeLessThanOrEqual(0);
      }
      await page.getByRole('button', { name: 'Large pictures' }).click();
      await expect.poll(spill, { message: 'large pictures' }).toBeLessThanOrEqual(0);
    }
    await page.context().close();
  });

  it('see nothing move by itself when they ask for that', async () => {
    const page = await stage.another({ reducedMotion: 'reduce' });
    await page.goto(`/#/case/${stage.caseId}`);
    await page.locator('.order li').first().waitFor();
    const moving = await page.evaluate(() =>
      [...document.querySelectorAll('*')].filter((e) => {
        const { transitionDuration, animationName } = getComputedStyle(e);
        return animationName !== 'none' || transitionDuration.split(',').some((d) => Number.parseFloat(d) > 0);
      }).length,
    );
    expect(moving).toBe(0);
    expect(await page.evaluate(() => document.getAnimations().length)).toBe(0);
    await page.context().close();
  });

  it('work a tablet with a finger', async () => {
    const page = await stage.another({ viewport: SIZES[2], hasTouch: true });
    await page.goto(`/#/case/${stage.caseId}`);
    await page.locator('.order li').first().waitFor();
    const lane = page.locator('.lane-picture').first();
    const before = await lane.getAttribute('aria-valuenow');
    const box = await lane.boundingBox();
    if (!box) throw new Error('no lane');
    await page.touchscreen.tap(box.x + box.width * 0.4, box.y + box.height / 2);
    await expect.poll(() => lane.getAttribute('aria-valuenow')).not.toBe(before);
    await page.locator('.plan .step').first().tap();
    const tip = page.locator('.device.selected .tip');
    await page.locator('.device.selected .strain-line').waitFor();
    await tip.scrollIntoViewIfNeeded();
    const at = await tip.boundingBox();
    if (!at) throw new Error('no tip');
    const finger = await page.context().newCDPSession(page);
    const [x, y] = [at.x + at.width / 2, at.y + at.height / 2];
    const touch = (type: 'touchStart' | 'touchMove' | 'touchEnd', dx?: number): Promise<unknown> =>
      finger.send('Input.dispatchTouchEvent', { type, touchPoints: dx === undefined ? [] : [{ x: x + dx, y }] });
    await touch('touchStart', 0);
    for (let i = 1; i <= 8; i++) await touch('touchMove', -6 * i);
    await touch('touchEnd');
    await page.locator('.device.selected .tip.held').waitFor();
    const small = await page.evaluate(tooSmall, TARGET_PX);
    expect(small).toEqual([]);
    await page.context().close();
  });

  neverFailed(stage);
});

/** Where a document of the program carries words that the page shows. */
const SAID = new Set(['text', 'reason', 'why', 'working_depth_why', 'sentence', 'sentences', 'notes', 'changes', 'cautions', 'findings', 'verdict', 'problems', 'what', 'value', 'source']);
/** Parts of a document that are not shown, or are another document. */
const NOT_SHOWN = new Set(['tray', 'measures', 'left_out']);

function sentencesIn(document: unknown, key = ''): string[] {
  if (typeof document === 'string') return SAID.has(key) && document.includes(' ') ? [document] : [];
  if (Array.isArray(document)) return document.flatMap((one) => sentencesIn(one, key));
  if (typeof document !== 'object' || document === null) return [];
  return Object.entries(document).flatMap(([name, one]) => (NOT_SHOWN.has(name) ? [] : sentencesIn(one, name)));
}

/** What has the keys but does not show it; empty when it does. Runs in the page. */
function hasVisibleFocus(): string {
  const e = document.activeElement;
  if (!e || e === document.body) return '';
  const seen = [e, ...(e.nextElementSibling ? [e.nextElementSibling] : []), ...(e.parentElement ? [e.parentElement] : [])].some((one) => {
    const { outlineStyle, outlineWidth, boxShadow } = getComputedStyle(one);
    return (outlineStyle !== 'none' && Number.parseFloat(outlineWidth) >= 1) || boxShadow !== 'none';
  });
  return seen ? '' : e.outerHTML.slice(0, 120);
}

/** What is pressed and is smaller than a finger can be sure of; what stands in a sentence is excepted. Runs in the page. */
function tooSmall(least_px: number): string[] {
  // A term that explains its number stands in the text and is excepted like a link there.
  return [...document.querySelectorAll<HTMLElement>('button, a[href], input, select, summary, [role=slider]')]
    .filter((e) => e.checkVisibility({ visibilityProperty: true }) && e.tabIndex >= 0 && !e.closest('p, dt, .unseen, .skip, .origin'))
    .filter((e) => {
      const target = e.closest('label') ?? e;
      const { width, height } = target.getBoundingClientRect();
      return width > 0 && (width < least_px || height < least_px);
    })
    .map((e) => `${e.tagName} ${e.className} ${e.parentElement?.className} ${(e.textContent ?? '').slice(0, 20)} ${(e.closest('label') ?? e).getBoundingClientRect().width} x ${(e.closest('label') ?? e).getBoundingClientRect().height}`);
}
