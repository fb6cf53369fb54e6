import { mkdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join, resolve } from 'node:path';
import { type Browser, type Page, chromium } from 'playwright-core';

const SCREENS = resolve(import.meta.dirname, '..', '..', 'artefacts', 'screens');

export const SIZES = [
  { width: 1280, height: 800 },
  { width: 1920, height: 1080 },
  { width: 820, height: 1180 },
] as const;

export function launch(...args: string[]): Promise<Browser> {
  return chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox', ...args] });
}

/** Everything a page must not do: write errors, or ask anyone but its own server. */
export interface Watch {
  errors: string[];
  strangers: string[];
}

export function watch(page: Page, own: string): Watch {
  const seen: Watch = { errors: [], strangers: [] };
  page.on('pageerror', (error) => seen.errors.push(error.message));
  page.on('console', (message) => {
    // A refused request of a test that asks for a refusal is logged by the browser itself.
    if (message.type() === 'error' && !message.text().startsWith('Failed to load resource')) seen.errors.push(message.text());
  });
  // Of the context, so that a service worker is watched as well.
  page.context().on('request', (request) => {
    if (!request.url().startsWith(own) && !/^(data|blob):/.test(request.url())) seen.strangers.push(request.url());
  });
  return seen;
}

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** What WCAG 2.1 A and AA checks of axe-core find wrong with the page, in both looks. */
export async function accessibilityFaults(page: Page): Promise<string[]> {
  const faults: string[] = [];
  for (const scheme of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme: scheme });
    await settled(page);
    // Through the debugger, because the page's own content policy rightly refuses foreign scripts.
    await page.evaluate(AXE);
    const found = await page.evaluate(async () => {
      const axe = (globalThis as unknown as { axe: { run: (o: object) => Promise<{ violations: { id: string; nodes: { target: unknown[] }[] }[] }> } }).axe;
      return (await axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa'] })).violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join(', ')}`);
    });
    faults.push(...found.map((f) => `${scheme} ${f}`));
  }
  await page.emulateMedia({ colorScheme: 'light' });
  return faults;
}

/** Two frames later everything that follows from a change of size or look is drawn. */
async function settled(page: Page): Promise<void> {
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 60)))));
}

/** The page as it stands, in both looks and every size. */
export async function picture(page: Page, name: string): Promise<void> {
  mkdirSync(SCREENS, { recursive: true });
  const before = page.viewportSize();
  for (const size of SIZES) {
    await page.setViewportSize(size);
    for (const scheme of ['light', 'dark'] as const) {
      await page.emulateMedia({ colorScheme: scheme });
      await settled(page);
      await page.screenshot({ path: join(SCREENS, `${name}-${size.width}-${scheme}.png`) });
    }
  }
  await page.emulateMedia({ colorScheme: 'light' });
  if (before) await page.setViewportSize(before);
}
