import { renderSurface, stepsThrough } from '../../model/surface';
import { type GreyJob, GreyPainter } from './GreyPainter';

/** A job and the size of its canvas on the screen, so that drawing asks nothing of the page's layout. */
export interface SizedJob extends GreyJob {
  width_px: number;
  height_px: number;
}

/** Samples a frame may cost while something moves; a dearer picture is drawn coarser first and whole when it rests. */
const MOVING_SAMPLES = 1_500_000;
const REST_MS = 140;

let painter: GreyPainter | null | undefined;
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

/** Draws a picture with the next frame, together with all others that wait; a newer job replaces an older one. */
export function paintSoon(canvas: HTMLCanvasElement, job: SizedJob): void {
  waiting.set(canvas, job);
  resting.delete(canvas);
  if (frame === 0) frame = requestAnimationFrame(paintWaiting);
}

/** Forgets a canvas that leaves the page. */
export function paintNoMore(canvas: HTMLCanvasElement): void {
  waiting.delete(canvas);
  resting.delete(canvas);
}

function paintWaiting(): void {
  frame = 0;
  const jobs = [...waiting].map(([canvas, job]) => ({ canvas, job }));
  waiting.clear();
  for (const { canvas, job } of jobs) {
    const share = Math.min(1, Math.sqrt(MOVING_SAMPLES / samplesOf(job)));
    setSize(canvas, job, share);
    if (share < 1) resting.set(canvas, job);
  }
  paint(jobs);
  if (resting.size > 0) {
    clearTimeout(restTimer);
    restTimer = window.setTimeout(paintResting, REST_MS);
  }
}

function paintResting(): void {
  const jobs = [...resting].map(([canvas, job]) => ({ canvas, job }));
  resting.clear();
  for (const { canvas, job } of jobs) setSize(canvas, job, 1);
  paint(jobs);
}

function paint(jobs: readonly { canvas: HTMLCanvasElement; job: SizedJob }[]): void {
  const card = thePainter();
  if (card) card.paint(jobs);
  else jobs.forEach(({ canvas, job }) => paintWithoutCard(canvas, job));
  for (const { canvas, job } of jobs) canvas.dataset.drawn = job.bricks.length > 0 ? 'yes' : 'empty';
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
