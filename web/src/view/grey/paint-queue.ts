import { type Column, renderSurface, stepsThrough } from '../../model/surface';
import type { Vec3 } from '../../model/vec';
import { type GreyJob, GreyPainter } from './GreyPainter';

/** A job and the size of its canvas on the screen, so that drawing asks nothing of the page's layout. */
export interface SizedJob extends GreyJob {
  width_px: number;
  height_px: number;
}

/**
 * What a picture may cost while something moves: a dearer one is drawn coarser first, and finer once it rests, within
 * what a reader waits for without noticing. Samples a picture may have in any case, and how long resting begins after.
 */
const MOVING_MS = 12;
const RESTING_MS = 300;
const ALWAYS_SAMPLES = { moving: 300_000, resting: 2_500_000 } as const;
const REST_AFTER_MS = 140;
/** Milliseconds a sample takes, learnt from drawing. */
let sample_ms = 1e-5;

let painter: GreyPainter | null | undefined;
/** What each canvas shows or is about to show. */
const shown = new WeakMap<HTMLCanvasElement, SizedJob>();
const waiting = new Map<HTMLCanvasElement, SizedJob>();
const resting = new Map<HTMLCanvasElement, SizedJob>();
let frame = 0;
let restTimer = 0;

/** One painter for the page; null where the browser gives no WebGL 2. */
function thePainter(): GreyPainter | null {
  if (painter !== undefined) return painter;
  try {
    painter = new GreyPainter();
  } catch {
    painter = null;
  }
  return painter;
}

/**
 * Draws a picture with the next frame, together with all others that wait; a newer job replaces an older one, and one
 * that would look the same costs nothing.
 */
export function paintSoon(canvas: HTMLCanvasElement, job: SizedJob): void {
  const before = shown.get(canvas);
  if (before && samePicture(before, job)) return;
  shown.set(canvas, job);
  waiting.set(canvas, job);
  resting.delete(canvas);
  if (frame === 0) frame = requestAnimationFrame(paintWaiting);
}

function samePicture(a: SizedJob, b: SizedJob): boolean {
  const sameColumn = (p: Column, q: Column | undefined): boolean =>
    q !== undefined && p.x === q.x && same(p.top_P, q.top_P) && same(p.bottom_P, q.bottom_P) && same(p.through_P, q.through_P);
  return (
    a.width_px === b.width_px &&
    a.height_px === b.height_px &&
    a.window.low === b.window.low &&
    a.window.high === b.window.high &&
    a.layer.thick_mm === b.layer.thick_mm &&
    a.layer.gather === b.layer.gather &&
    a.bricks.length === b.bricks.length &&
    a.bricks.every((brick, i) => brick === b.bricks[i]) &&
    (a.surface === b.surface || (a.surface.length === b.surface.length && a.surface.every((column, i) => sameColumn(column, b.surface[i]))))
  );
}

const same = (a: Vec3, b: Vec3): boolean => a[0] === b[0] && a[1] === b[1] && a[2] === b[2];

/** Forgets a canvas that leaves the page. */
export function paintNoMore(canvas: HTMLCanvasElement): void {
  waiting.delete(canvas);
  resting.delete(canvas);
  shown.delete(canvas);
}

function paintWaiting(): void {
  frame = 0;
  const jobs = [...waiting].map(([canvas, job]) => ({ canvas, job }));
  waiting.clear();
  for (const { canvas, job } of jobs) {
    const share = shareFor(job, MOVING_MS, ALWAYS_SAMPLES.moving);
    setSize(canvas, job, share);
    if (share < 1) resting.set(canvas, job);
  }
  paint(jobs);
  if (resting.size > 0) {
    clearTimeout(restTimer);
    restTimer = window.setTimeout(paintResting, REST_AFTER_MS);
  }
}

function paintResting(): void {
  const jobs = [...resting].map(([canvas, job]) => ({ canvas, job }));
  resting.clear();
  for (const { canvas, job } of jobs) setSize(canvas, job, shareFor(job, RESTING_MS, ALWAYS_SAMPLES.resting));
  paint(jobs);
}

/** Share of a picture's pixels in each direction that may be drawn in a time, `always` of its samples in any case. */
function shareFor(job: SizedJob, time_ms: number, always: number): number {
  return Math.min(1, Math.sqrt(Math.max(always, time_ms / sample_ms) / samplesOf(job)));
}

function paint(jobs: readonly { canvas: HTMLCanvasElement; job: SizedJob }[]): void {
  const card = thePainter();
  const begun = performance.now();
  if (card) card.paint(jobs);
  else jobs.forEach(({ canvas, job }) => paintWithoutCard(canvas, job));
  learn(jobs, performance.now() - begun);
  for (const { canvas, job } of jobs) canvas.dataset.drawn = job.bricks.length > 0 ? 'yes' : 'empty';
}

/** Takes how long dear pictures took into account; a card works on after this returns and so stays cheap. */
function learn(jobs: readonly { canvas: HTMLCanvasElement; job: SizedJob }[], took_ms: number): void {
  const samples = jobs.reduce((sum, { canvas, job }) => sum + samplesOf({ ...job, width_px: canvas.width, height_px: canvas.height }) / dense() ** 2, 0);
  if (samples < ALWAYS_SAMPLES.moving) return;
  sample_ms = took_ms / samples;
}

const dense = (): number => Math.min(devicePixelRatio, 2);

const samplesOf = (job: SizedJob): number =>
  Math.max(1, job.width_px * job.height_px * dense() ** 2 * (job.bricks.length > 0 ? stepsThrough(job.layer, job.bricks) : 1));

/** Gives a canvas the pixels of its place on screen, or a share of them in each direction. */
function setSize(canvas: HTMLCanvasElement, job: SizedJob, share: number): void {
  const width = Math.max(1, Math.round(job.width_px * dense() * share));
  const height = Math.max(1, Math.round(job.height_px * dense() * share));
  if (canvas.width !== width) canvas.width = width;
  if (canvas.height !== height) canvas.height = height;
}

function paintWithoutCard(canvas: HTMLCanvasElement, job: GreyJob): void {
  const context = canvas.getContext('2d');
  if (!context || job.bricks.length === 0) return;
  const image = context.createImageData(canvas.width, canvas.height);
  renderSurface(job.bricks, job.surface, job.layer, job.window, canvas.width, canvas.height, image.data);
  context.putImageData(image, 0, 0);
}
