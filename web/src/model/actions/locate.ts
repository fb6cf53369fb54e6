import type { ScanDetail, Survey, TraceRequest } from '../../api/documents';
import { clampToGrid, gridCentre, stepWithin } from '../grid';
import { tissueWindows } from '../grey';
import { tissueLevels } from '../survey';
import { type Vec3, distance } from '../vec';
import { t } from '../words';
import { type InsistedCanal, WAITING } from '../state';
import { type Context, sentenceOf } from './context';

/** Voxels of the thinned-out scan the page holds at most: 12 MB of grey values. */
const COARSE_LIMIT = 6_000_000;
/** Half the edge of the box read at full sharpness round the crosshair. */
const FINE_HALF_MM: Vec3 = [9, 9, 16];
/** A new box is read when the crosshair is this far from the middle of the last one. */
const FINE_MOVE_MM = 5;

let stopFollowing: (() => void) | null = null;
let fineCentre: Vec3 | null = null;

/** Fetches a scan and its grey values for marking a tooth in it. */
export async function loadLocate({ state, server }: Context, scanId: string): Promise<void> {
  const l = state.locate;
  // Coming back to the same scan, to mark anew what was traced: everything is still there.
  if (l.scan.value.state === 'ready' && l.scan.value.value.id === scanId && l.coarse.value) return;
  stopFollowing?.();
  stopFollowing = null;
  fineCentre = null;
  l.scan.value = WAITING;
  for (const s of [l.coarse, l.fine, l.inside_P, l.reference_P, l.fdi, l.tracing, l.sentence]) s.value = null;
  l.cancelled.value = false;
  l.canals.value = [];
  l.tool.value = 'inside';
  try {
    // Measuring what a scan can show takes seconds the first time; it can be looked at before.
    const measured = server.getScan(scanId);
    measured.catch(() => undefined);
    const scan: ScanDetail = (await server.getScans()).find((one) => one.id === scanId) ?? (await measured);
    l.scan.value = { state: 'ready', value: scan };
    l.crosshair_P.value = gridCentre(scan.geometry);
    const whole = startWindow(scan.grey, undefined);
    l.grey.value = whole;
    l.step.value = stepWithin(scan.geometry.size, COARSE_LIMIT);
    const still = (): boolean => l.scan.value.state === 'ready' && l.scan.value.value.id === scanId;
    void measured.then(
      (value) => {
        if (!still()) return;
        l.scan.value = { state: 'ready', value };
        if (l.grey.value === whole) l.grey.value = startWindow(value.grey, value.survey);
      },
      (cause: unknown) => still() && (l.sentence.value = sentenceOf(cause)),
    );
    const brick = await server.getBrick(scanId, { step: l.step.value });
    if (still()) l.coarse.value = brick;
  } catch (cause) {
    if (l.scan.value.state === 'ready') l.sentence.value = sentenceOf(cause);
    else l.scan.value = { state: 'failed', sentence: sentenceOf(cause) };
  }
}

/** The window to begin with: canals in dentine when the survey knows its levels, the whole range otherwise. */
export function startWindow(whole: { low: number; high: number }, survey: Survey | undefined): { low: number; high: number } {
  const windows = tissueWindows(whole, tissueLevels(survey));
  const { low, high } = windows.find((w) => w.key === 'dentine') ?? windows[0] ?? { ...whole };
  return { low, high };
}

export function moveCrosshair({ state }: Context, point_P: Vec3): void {
  const { scan, crosshair_P } = state.locate;
  if (scan.value.state === 'ready') crosshair_P.value = clampToGrid(scan.value.value.geometry, point_P);
}

/** A click in a section: moves the crosshair, and sets the mark of the chosen tool. */
export function clickSection(context: Context, point_P: Vec3): void {
  const l = context.state.locate;
  moveCrosshair(context, point_P);
  if (l.tool.value === 'inside') {
    l.inside_P.value = l.crosshair_P.value;
    l.sentence.value = null;
    l.cancelled.value = false;
  }
  if (l.tool.value === 'reference') l.reference_P.value = l.crosshair_P.value;
  if (l.tool.value === 'canal') l.canals.value = withEnd(l.canals.value, l.crosshair_P.value);
  if (l.tool.value !== 'look') void sharpen(context);
}

/** Orifice first, then the end: a point ends the canal that still lacks one, or begins another. */
export function withEnd(canals: readonly InsistedCanal[], point_P: Vec3): InsistedCanal[] {
  const last = canals.at(-1);
  if (last && last.end_P === null) return [...canals.slice(0, -1), { orifice_P: last.orifice_P, end_P: point_P }];
  return [...canals, { orifice_P: point_P, end_P: null }];
}

/** Reads the neighbourhood of the crosshair at full sharpness, unless the whole scan already is. */
export async function sharpen({ state, server }: Context): Promise<void> {
  const l = state.locate;
  if (l.scan.value.state !== 'ready' || l.step.value === 1) return;
  const centre = l.crosshair_P.value;
  if (fineCentre && distance(fineCentre, centre) < FINE_MOVE_MM) return;
  fineCentre = centre;
  try {
    l.fine.value = await server.getBrick(l.scan.value.value.id, { centre_mm: centre, half_mm: FINE_HALF_MM });
  } catch (cause) {
    fineCentre = null;
    l.sentence.value = sentenceOf(cause);
  }
}

/** Starts tracing and follows it. `arrived` gets the case when it is done. */
export async function trace({ state, server }: Context, arrived: (caseId: string) => void): Promise<void> {
  const l = state.locate;
  if (l.scan.value.state !== 'ready' || !l.inside_P.value || !l.fdi.value || l.tracing.value) return;
  l.sentence.value = null;
  l.cancelled.value = false;
  try {
    const job = await server.startTrace(l.scan.value.value.id, {
      inside_mm: [...l.inside_P.value] as [number, number, number],
      fdi: l.fdi.value,
      ...canalsOf(l.canals.value),
      ...(l.reference_P.value ? { reference_mm: [...l.reference_P.value] as [number, number, number] } : {}),
    });
    l.tracing.value = { job, fraction: 0, stage: '', startedAt_ms: Date.now(), cancelling: false };
    stopFollowing = server.followJob(job, (event) => {
      const now = l.tracing.value;
      if (now?.job !== job) return;
      if (event.kind === 'lost') {
        l.tracing.value = { ...now, stage: t('locate.lost') };
        return;
      }
      if (event.kind === 'progress') {
        l.tracing.value = { ...now, fraction: event.fraction, stage: event.stage };
        return;
      }
      l.tracing.value = null;
      stopFollowing = null;
      if (event.kind === 'done') arrived(event.caseId);
      if (event.kind === 'failed') l.sentence.value = event.sentence;
      if (event.kind === 'gone') l.sentence.value = t('locate.jobGone');
      if (event.kind === 'cancelled') l.cancelled.value = true;
    });
  } catch (cause) {
    l.sentence.value = sentenceOf(cause);
  }
}

/** The canals the user insists on, as the server takes them; one without an end is left out. */
function canalsOf(canals: readonly InsistedCanal[]): Pick<TraceRequest, 'canals'> {
  const whole = canals.flatMap((c) => (c.end_P ? [{ orifice_mm: c.orifice_P, end_mm: c.end_P }] : []));
  return whole.length > 0 ? { canals: whole } : {};
}

export async function cancelTrace({ state, server }: Context): Promise<void> {
  const { tracing, sentence } = state.locate;
  if (!tracing.value) return;
  tracing.value = { ...tracing.value, cancelling: true };
  try {
    await server.cancelJob(tracing.value.job);
  } catch (cause) {
    sentence.value = sentenceOf(cause);
    if (tracing.value) tracing.value = { ...tracing.value, cancelling: false };
  }
}
