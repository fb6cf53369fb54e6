import type { Canal, CanalPlan, Device, Passive, Plan, Step } from '../../api/documents';
import { firstDepth } from '../canal';
import { sharpest } from '../ruler';

/** What a step is: what is done with the instrument, or a job of a device that removes nothing. */
export type Doing = Step['action'] | Passive['job'] | 'measure' | 'recheck' | 'rinse-between';

export interface ChairStep {
  /** Stays the same when the plan is made anew with the same device for the same purpose. */
  key: string;
  canal: string;
  doing: Doing;
  /** Null where no device of the tray serves. */
  device: string | null;
  /** Where the stop is set; null where nothing is set. */
  stop_mm: number | null;
  /** Depths between which the device is expected to bind. */
  binds: readonly (readonly [number, number])[];
  push_force_N: number | null;
  /** The plan's own sentence. */
  why: string;
}

/** Work on the instrument is followed by a rinse. Common practice, no source: rinse constantly. */
const REMOVES: ReadonlySet<Doing> = new Set<Doing>(['open', 'shape', 'finish']);
/** The working depth counts as reached within this. */
const AT_DEPTH_MM = 0.3;

/** Everything there is to do, canal after canal, in the plan's order. */
export function stepsOf(plan: Plan): ChairStep[] {
  return plan.canals.flatMap((canal) => withKeys(stepsOfCanal(canal, plan)));
}

type Unnamed = Omit<ChairStep, 'key'>;

function stepsOfCanal(canal: CanalPlan, plan: Plan): Unnamed[] {
  const out: Unnamed[] = [];
  const chosen = canal.passive.filter((p) => p.chosen);
  const cannula = chosen.find((p) => p.job === 'rinse');
  const of = (doing: Doing, device: string | null, stop_mm: number | null, why: string, passage?: number | null): Unnamed => {
    const found = typeof passage === 'number' ? plan.passages[passage] : undefined;
    return { canal: canal.canal, doing, device, stop_mm, why, binds: (found?.binds ?? []) as ChairStep['binds'], push_force_N: found?.push_force_N ?? null };
  };
  const measureAfter = whereToMeasure(canal);
  canal.order.forEach((step, i) => {
    out.push(of(step.action, step.device, step.stop_setting_mm, step.why, step.passage));
    if (i === measureAfter) out.push(of('measure', step.device, null, canal.working_depth_why));
    if (REMOVES.has(step.action)) out.push(of('rinse-between', cannula?.device ?? null, cannula ? rinseStop(cannula, step) : null, cannula?.why ?? ''));
  });
  if (canal.recapitulation) {
    const r = canal.recapitulation;
    out.push(of('recheck', r.device, r.stop_setting_mm, r.why, r.passage));
  }
  for (const p of chosen) out.push(of(p.job, p.device, p.stop_setting_mm, p.why, p.passage));
  return out;
}

/**
 * The depth is measured with the largest file that scouts it to the working depth, which touches best; without one, with
 * the first instrument that comes there. Common practice, no source. -1: nothing comes there.
 */
function whereToMeasure(canal: CanalPlan): number {
  const there = canal.order.map((step) => step.depth_mm >= canal.working_depth_mm - AT_DEPTH_MM);
  const firstWork = canal.order.findIndex((step) => step.action !== 'scout');
  const scouts = there.slice(0, firstWork < 0 ? undefined : firstWork);
  return scouts.includes(true) ? scouts.lastIndexOf(true) : there.indexOf(true);
}

/** Between instruments the canal is not yet as wide as in the end: the cannula goes no deeper than the instrument went. */
const rinseStop = (cannula: Passive, step: Step): number => Math.min(cannula.stop_setting_mm, step.stop_setting_mm);

/** A key tells canal, purpose and device; a number is added when the same comes again. */
function withKeys(steps: readonly Unnamed[]): ChairStep[] {
  const seen = new Map<string, number>();
  return steps.map((step) => {
    const base = [step.canal, step.doing, step.device ?? '-'].join('/');
    const count = (seen.get(base) ?? 0) + 1;
    seen.set(base, count);
    return { ...step, key: count === 1 ? base : `${base}/${count}` };
  });
}

/** What the view needs of a canal, and nothing more: it is kept in the browser for the time the program is down. */
export interface ChairCanal {
  name: string;
  /** The foramen by the scan, and its standard deviation. */
  foramen_mm: number;
  foramen_sd_mm: number;
  /** Working depth of the plan, and what the scan alone suggests; they differ once one was measured. */
  working_depth_mm: number;
  scan_working_mm: number;
  /** What the plan does otherwise for a measured depth. */
  changes: readonly string[];
  presence: number | null;
  orifice_mm: number;
  /** The sharpest curve; null when curves are not known. */
  curve: { depth_mm: number; radius_mm: number } | null;
  /** The plan's gravest warnings of this canal. */
  mind: readonly string[];
}

/** The plan as the chair needs it. */
export interface ChairSheet {
  caseId: string;
  fdi: string;
  invented: boolean;
  canals: readonly ChairCanal[];
  steps: readonly ChairStep[];
  /** The devices the steps use. */
  devices: readonly Device[];
  cautions: readonly string[];
}

/** Warnings of this severity are read at the chair; the others stand in the plan. */
const GRAVE = 2;
const MOST_WARNINGS = 2;

export function chairCanals(plan: Plan, canals: readonly Canal[]): ChairCanal[] {
  return plan.canals.map((planned) => {
    const canal = canals.find((c) => c.name === planned.canal);
    const curve = canal ? sharpest(canal) : null;
    return {
      name: planned.canal,
      foramen_mm: canal?.depth_to_foramen_mm ?? planned.depth_to_foramen_mm,
      foramen_sd_mm: canal?.depth_sd_mm ?? planned.depth_sd_mm ?? 0,
      working_depth_mm: planned.working_depth_mm,
      scan_working_mm: planned.measured?.from_scan_mm ?? planned.working_depth_mm,
      changes: planned.measured?.changes ?? [],
      presence: planned.presence ?? null,
      orifice_mm: canal ? firstDepth(canal) : 0,
      curve: curve && curve.value > 0.02 ? { depth_mm: curve.depth_mm, radius_mm: 1 / curve.value } : null,
      mind: plan.warnings
        .filter((w) => w.severity >= GRAVE && w.canal === planned.canal)
        .slice(0, MOST_WARNINGS)
        .map((w) => w.text),
    };
  });
}
