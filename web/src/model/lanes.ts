import type { CanalPlan, Passage, Plan } from '../api/documents';
import { type Row, rowId } from './state';

/** A line of the plan that a passage justifies. */
export function rowOfPassage(plan: Plan, index: number): Row | null {
  const passage = plan.passages[index];
  if (!passage) return null;
  const planPassage = passage.canal_state === 'native' ? null : index;
  return { id: rowId(passage.canal, passage.device, planPassage), canal: passage.canal, device: passage.device, planPassage };
}

/** Jobs whose device is put into its lane from the start; the others come when their line of the plan is chosen. */
const SHOWN_JOBS: ReadonlySet<string> = new Set(['rinse', 'fit']);

/** The passages a lane starts with, in the order of work. */
export function passagesOfCanal(canal: CanalPlan): number[] {
  const steps = canal.order.map((s) => s.passage);
  const passive = canal.passive.filter((p) => p.chosen && SHOWN_JOBS.has(p.job)).map((p) => p.passage);
  return [...new Set([...steps, ...passive])];
}

/** The bars the lanes start with: what the plan does in each canal, first to last. */
export function rowsOfPlan(plan: Plan): Row[] {
  const rows: Row[] = [];
  for (const canal of plan.canals) {
    for (const index of passagesOfCanal(canal)) {
      const row = rowOfPassage(plan, index);
      if (row && !rows.some((r) => r.id === row.id)) rows.push(row);
    }
  }
  return rows;
}

/** What the plan wants of a passage: the depth it stops a device at, and the setting of the stop. */
export interface Wanted {
  depth_mm: number;
  stop_setting_mm: number;
  /** The device is held at the working depth: nothing but the plan stops it there. */
  held: boolean;
}

/** The step or device of a plan that a passage was found for; undefined when it only explains something. */
export function wantedOf(plan: Plan, index: number): Wanted | undefined {
  for (const canal of plan.canals) {
    const step = canal.order.find((s) => s.passage === index) ?? (canal.recapitulation?.passage === index ? canal.recapitulation : undefined);
    if (step) return { depth_mm: step.depth_mm, stop_setting_mm: step.stop_setting_mm, held: Math.abs(step.depth_mm - canal.working_depth_mm) < 0.02 };
    const passive = canal.passive.find((p) => p.passage === index);
    if (passive) return { depth_mm: passive.reaches_mm, stop_setting_mm: passive.stop_setting_mm, held: false };
  }
  return undefined;
}

/** Value of a passage's profile at a depth; undefined where the device is not, or without a profile. */
export function profileAt(passage: Passage | undefined, depth_mm: number): { strain: number; contact_N_per_mm: number; offset_P: readonly [number, number, number]; toward_P: readonly [number, number, number] } | undefined {
  const p = passage?.profile;
  if (!p || p.depth_mm.length === 0) return undefined;
  const first = p.depth_mm[0] ?? 0;
  const last = p.depth_mm.at(-1) ?? 0;
  if (depth_mm < first - 0.05 || depth_mm > last + 0.05) return undefined;
  let best = 0;
  for (let i = 1; i < p.depth_mm.length; i++) {
    if (Math.abs((p.depth_mm[i] ?? 0) - depth_mm) < Math.abs((p.depth_mm[best] ?? 0) - depth_mm)) best = i;
  }
  return {
    strain: p.strain[best] ?? 0,
    contact_N_per_mm: p.contact_N_per_mm[best] ?? 0,
    offset_P: p.offset_mm[best] ?? [0, 0, 0],
    toward_P: p.contact_toward[best] ?? [0, 0, 0],
  };
}
