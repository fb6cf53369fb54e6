import { mkdirSync, readFileSync, writeFileSync, existsSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Browser, CDPSession } from 'playwright-core';

const FIGURES = resolve(import.meta.dirname, '..', '..', 'artefacts', 'page-figures.json');

/** What the tests use of an event of the browser's trace; times are microseconds. */
export interface TraceEvent {
  name: string;
  ph: string;
  ts: number;
  dur?: number;
  args?: { data?: { type?: string; duration?: number } };
}

const CATEGORIES = ['devtools.timeline', 'disabled-by-default-devtools.timeline', 'disabled-by-default-devtools.timeline.frame', 'blink.user_timing'];

/** Records what the browser does while `act` runs. */
export async function record(browser: Browser, act: () => Promise<void>): Promise<TraceEvent[]> {
  const session: CDPSession = await browser.newBrowserCDPSession();
  const events: TraceEvent[] = [];
  session.on('Tracing.dataCollected', ({ value }) => events.push(...(value as unknown as TraceEvent[])));
  await session.send('Tracing.start', { transferMode: 'ReportEvents', traceConfig: { includedCategories: CATEGORIES } });
  await act();
  const complete = new Promise<void>((done) => session.once('Tracing.tracingComplete', () => done()));
  await session.send('Tracing.end');
  await complete;
  await session.detach();
  return events;
}

/** From each press of a key to the frame on the screen that shows it, in ms. */
export const keyToScreen_ms = (events: readonly TraceEvent[]): number[] =>
  events.flatMap((e) => (e.name === 'EventTiming' && e.ph === 'b' && e.args?.data?.type === 'keydown' ? [e.args.data.duration ?? Number.NaN] : []));

/** Times a second that a mark made by the page was followed by a frame on the screen; marks in one frame count once. */
export function drawnPerSecond(events: readonly TraceEvent[], mark: string): number {
  const marks = events.filter((e) => e.name === mark).map((e) => e.ts).sort((a, b) => a - b);
  const frames = events.filter((e) => e.name === 'DrawFrame').map((e) => e.ts).sort((a, b) => a - b);
  const shown = new Set(marks.map((ts) => frames.find((frame) => frame > ts)).filter((frame) => frame !== undefined));
  const [first, last] = [marks[0], marks.at(-1)];
  return first === undefined || last === undefined || last === first ? 0 : (1e6 * (shown.size - 1)) / (last - first);
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return ((sorted[Math.floor((sorted.length - 1) / 2)] ?? Number.NaN) + (sorted[Math.ceil((sorted.length - 1) / 2)] ?? Number.NaN)) / 2;
}

/** Keeps a measured figure in artefacts/page-figures.json beside the others. */
export function keepFigure(name: string, figure: { value: number; unit: string; limit: number; crowding: number; note?: string }): void {
  mkdirSync(join(FIGURES, '..'), { recursive: true });
  const all = existsSync(FIGURES) ? (JSON.parse(readFileSync(FIGURES, 'utf8')) as Record<string, unknown>) : {};
  const round = (x: number): number => Math.round(x * 100) / 100;
  all[name] = { ...figure, value: round(figure.value), crowding: round(figure.crowding) };
  writeFileSync(FIGURES, `${JSON.stringify(all, null, 1)}\n`);
}

/**
 * How many times longer work takes here than its processor time: 1 on a quiet machine. On a busy one a time on the clock
 * says nothing of the page.
 */
export function crowding(): number {
  const begun = performance.now();
  const before = process.cpuUsage();
  let x = 0;
  while (performance.now() - begun < 250) x += Math.sqrt(x + 1);
  const { user, system } = process.cpuUsage(before);
  return (1000 * (performance.now() - begun)) / Math.max(1, user + system);
}

/** A machine more crowded than this is too busy for timing. */
export const CROWDED = 1.3;
