import type { Canal, CaseDetail, Passage, Plan } from '../../api/documents';
import { firstDepth, lastDepth } from '../canal';
import { rowsOfPlan } from '../lanes';
import { type Cursor, type Row, type State, WAITING, passageKey, rowId } from '../state';
import { type Vec3, scale, add } from '../vec';
import { type Context, sentenceOf } from './context';
import { startWindow } from './locate';
import { slowly } from './slow';

export const canalsOf = (state: State): readonly Canal[] =>
  state.work.detail.value.state === 'ready' ? state.work.detail.value.value.tooth.canals : [];

export const findCanal = (state: State, name: string): Canal | undefined => canalsOf(state).find((c) => c.name === name);

/** Fetches a case and then, each as it comes, its grey values, tray, passages and plan. */
export async function loadWork(context: Context, caseId: string, loadCorrections: () => Promise<void>): Promise<void> {
  const { state, server } = context;
  const w = state.work;
  reset(state);
  const still = (): boolean => w.detail.value.state === 'ready' && w.detail.value.value.id === caseId;
  try {
    w.detail.value = { state: 'ready', value: await server.getCase(caseId) };
  } catch (cause) {
    w.detail.value = { state: 'failed', sentence: sentenceOf(cause) };
    return;
  }
  const first = canalsOf(state)[0];
  if (first) w.pinned.value = { canal: first.name, depth_mm: (firstDepth(first) + lastDepth(first)) / 2 };
  await Promise.all([
    loadBrick(context, w.detail.value.value, still),
    loadMeasures(context, caseId),
    loadCorrections().catch((cause: unknown) => still() && (w.sentence.value = sentenceOf(cause))),
    server.getTray().then(
      (value) => still() && (w.tray.value = { state: 'ready', value }),
      (cause) => still() && (w.tray.value = { state: 'failed', sentence: sentenceOf(cause) }),
    ),
    loadPassages(context, caseId, still),
    loadPlan(context, caseId),
  ]);
}

async function loadMeasures({ state, server }: Context, caseId: string): Promise<void> {
  const { measures, detail } = state.work;
  const still = (): boolean => detail.value.state === 'ready' && detail.value.value.id === caseId;
  await server.getMeasures(caseId).then(
    (value) => still() && (measures.value = { state: 'ready', value }),
    (cause) => still() && (measures.value = { state: 'failed', sentence: sentenceOf(cause) }),
  );
}

/** Fetches anew what follows from the tooth, after it was corrected; what was known of the old one is forgotten. */
export async function refreshFigures(context: Context, caseId: string): Promise<void> {
  const w = context.state.work;
  const still = (): boolean => w.detail.value.state === 'ready' && w.detail.value.value.id === caseId;
  w.passages.value = WAITING;
  w.profiles.value = new Map();
  w.held.value = new Map();
  w.rows.value = w.rows.value.filter((row) => row.planPassage === null && findCanal(context.state, row.canal));
  w.selected.value = null;
  await Promise.all([loadMeasures(context, caseId), loadPassages(context, caseId, still), loadPlan(context, caseId)]);
}

async function loadPassages({ state, server }: Context, caseId: string, still: () => boolean): Promise<void> {
  const { passages, making } = state.work;
  try {
    const document = await slowly(server, making.passages, () => server.makeDocument(caseId, 'passages'), () => server.getPassages(caseId), still);
    if (!still()) return;
    passages.value = { state: 'ready', value: new Map(document.passages.map((p) => [passageKey(p.canal, p.device), p] as const)) };
  } catch (cause) {
    if (still()) passages.value = { state: 'failed', sentence: sentenceOf(cause) };
  }
}

/** Has the plan made and takes it; also when it is asked for again. */
export async function loadPlan({ state, server }: Context, caseId: string): Promise<void> {
  const { plan, making, detail } = state.work;
  const still = (): boolean => detail.value.state === 'ready' && detail.value.value.id === caseId;
  plan.value = WAITING;
  try {
    const value = await slowly(server, making.plan, () => server.makeDocument(caseId, 'plan'), () => server.getPlan(caseId), still);
    if (still()) takePlan(state, value);
  } catch (cause) {
    if (still()) plan.value = { state: 'failed', sentence: sentenceOf(cause) };
  }
}

function reset(state: State): void {
  const w = state.work;
  for (const s of [w.detail, w.measures, w.tray, w.passages, w.plan]) s.value = WAITING;
  for (const s of [w.scan, w.brick, w.selected, w.hover, w.pinned, w.trayFor, w.sentence]) s.value = null;
  w.rows.value = [];
  w.pictures.measured.value = [];
  w.pictures.begun.value = null;
  w.pictures.tool.value = 'cursor';
  w.corrections.on.value = false;
  w.corrections.possible.value = false;
  w.corrections.sentence.value = null;
  w.corrections.list.value = { edits: [], undone: [] };
  w.folded.value = new Set();
  w.profiles.value = new Map();
  w.held.value = new Map();
}

/** The plan brings its own passages with profiles, and the bars each lane starts with. */
function takePlan(state: State, plan: Plan): void {
  const w = state.work;
  const rows = rowsOfPlan(plan);
  const profiles = new Map(w.profiles.value);
  plan.passages.forEach((p, i) => {
    if (p.profile) profiles.set(rowId(p.canal, p.device, p.canal_state === 'native' ? null : i), p);
  });
  w.plan.value = { state: 'ready', value: plan };
  w.profiles.value = profiles;
  const own = w.rows.value.filter((r) => !rows.some((p) => p.id === r.id));
  w.rows.value = [...rows, ...own];
  // Something to read from the start: the first thing the plan does.
  w.selected.value ??= rows[0] ?? null;
}

async function loadBrick({ state, server }: Context, detail: CaseDetail, still: () => boolean): Promise<void> {
  try {
    if (detail.scan === '') return;
    const box = boundingBox(detail);
    const [scan, brick] = await Promise.all([server.getScan(detail.scan), server.getBrick(detail.scan, { centre_mm: box.centre, half_mm: box.half })]);
    if (!still()) return;
    state.work.scan.value = scan;
    state.work.grey.value = startWindow(scan.grey, scan.survey);
    state.work.brick.value = brick;
  } catch (cause) {
    if (still()) state.work.sentence.value = sentenceOf(cause);
  }
}

/** The box round a tooth with 4 mm to spare; round its canals with 5 mm where its surface is not known. */
export function boundingBox(detail: CaseDetail): { centre: Vec3; half: Vec3 } {
  const { tooth } = detail;
  const vertices = tooth.surface?.vertices_mm ?? [];
  const points: readonly Vec3[] = vertices.length > 0 ? vertices : tooth.canals.flatMap((c) => c.samples.point_mm).concat([tooth.reference_mm]);
  const spare = vertices.length > 0 ? 4 : 5;
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const p of points) {
    for (let a = 0; a < 3; a++) {
      low[a] = Math.min(low[a] ?? 0, p[a] ?? 0);
      high[a] = Math.max(high[a] ?? 0, p[a] ?? 0);
    }
  }
  const lowest = low as unknown as Vec3;
  const highest = high as unknown as Vec3;
  const half = scale(add(highest, scale(lowest, -1)), 0.5);
  return { centre: scale(add(highest, lowest), 0.5), half: add(half, [spare, spare, spare]) };
}

export function hover({ state }: Context, cursor: Cursor | null): void {
  state.work.hover.value = cursor;
}

/** Sets the cursor that stays, within what the ruler shows. */
export function pin({ state }: Context, cursor: Cursor): void {
  const canal = findCanal(state, cursor.canal);
  if (!canal) return;
  state.work.pinned.value = { canal: canal.name, depth_mm: Math.min(Math.max(cursor.depth_mm, 0), lastDepth(canal)) };
  state.work.hover.value = null;
}

/** The answer a bar shows: what the user holds it at, else what is known of it. */
export function passageOf(state: State, row: Row): Passage | undefined {
  const w = state.work;
  const held = w.held.value.get(row.id)?.passage;
  if (held) return held;
  const profile = w.profiles.value.get(row.id);
  if (profile) return profile;
  if (row.planPassage !== null) return w.plan.value.state === 'ready' ? w.plan.value.value.passages[row.planPassage] : undefined;
  return w.passages.value.state === 'ready' ? w.passages.value.value.get(passageKey(row.canal, row.device)) : undefined;
}
