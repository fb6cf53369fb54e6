import type { EntryKind, NewEntry } from './log';
import type { ChairCanal, ChairStep } from './steps';

/** A depth the apex locator gave for a canal. */
export interface Measured {
  depth_mm: number;
  entry_id: string;
  at: string;
}

/** Where a treatment stands. It is read from the log alone, so that a reload, another browser or an outage cannot change it. */
export interface Run {
  /** Keys of the steps that were done and not taken back, in the order they were done. */
  done: readonly string[];
  /** The first step that is not done; null when all are. */
  current: ChairStep | null;
  /** The newest measured depth of each canal. */
  measured: ReadonlyMap<string, Measured>;
  /** A rinse that was started and not stopped. */
  rinse: { since: string; canal: string; step: string | null } | null;
  /** Seconds rinsed so far, by canal. */
  rinsed_s: ReadonlyMap<string, number>;
  /** What went otherwise than planned, newest first. */
  deviations: readonly NewEntry[];
}

const DEVIATIONS: ReadonlySet<EntryKind> = new Set<EntryKind>(['device-deformed', 'device-broken', 'blocked', 'note', 'depth-measured']);

/** Reads the log. @param steps  what the plan, as it is now, asks for */
export function runOf(steps: readonly ChairStep[], entries: readonly NewEntry[]): Run {
  const done: string[] = [];
  const measured = new Map<string, Measured>();
  const rinsed_s = new Map<string, number>();
  const deviations: NewEntry[] = [];
  let rinse: Run['rinse'] = null;
  for (const e of corrected(entries)) {
    const key = e.step ?? '';
    if (e.kind === 'step-done' && key !== '' && !done.includes(key)) done.push(key);
    if (e.kind === 'step-undone' && done.includes(key)) done.splice(done.indexOf(key), 1);
    if (e.kind === 'depth-measured' && e.canal !== undefined && e.depth_mm !== undefined) {
      measured.set(e.canal, { depth_mm: e.depth_mm, entry_id: e.entry_id, at: e.at });
    }
    if (e.kind === 'rinse-started') rinse = { since: e.at, canal: e.canal ?? '', step: e.step ?? null };
    if (e.kind === 'rinse-stopped') {
      rinse = null;
      rinsed_s.set(e.canal ?? '', (rinsed_s.get(e.canal ?? '') ?? 0) + (e.seconds ?? 0));
    }
    if (DEVIATIONS.has(e.kind)) deviations.unshift(e);
  }
  return { done, current: steps.find((s) => !done.includes(s.key)) ?? null, measured, rinse, rinsed_s, deviations };
}

/** The entries with every correction carried out: one with a depth or text replaces it, one without takes the entry back. */
function corrected(entries: readonly NewEntry[]): NewEntry[] {
  const last = new Map<string, NewEntry>();
  for (const e of entries) if (e.kind === 'correction' && e.corrects !== undefined) last.set(e.corrects, e);
  return entries.flatMap((e) => {
    const correction = last.get(e.entry_id);
    if (!correction) return e.kind === 'correction' ? [] : [e];
    if (correction.depth_mm === undefined && correction.text === undefined) return [];
    return [{ ...e, depth_mm: correction.depth_mm ?? e.depth_mm, text: correction.text ?? e.text }];
  });
}

/** How a measured working depth compares with the one the scan suggests. */
export interface Difference {
  measured_mm: number;
  /** Positive: deeper than the scan says. */
  by_mm: number;
  /** More than the scan's own uncertainty (two standard deviations) explains. */
  notable: boolean;
}

/** What an apex locator cannot tell better than, whatever the scan says. Common practice, no source. */
const LOCATOR_MM = 0.5;

export function difference(canal: ChairCanal, measured: Measured | undefined): Difference | null {
  if (!measured) return null;
  const by_mm = measured.depth_mm - canal.scan_working_mm;
  return { measured_mm: measured.depth_mm, by_mm, notable: Math.abs(by_mm) > Math.max(LOCATOR_MM, 2 * canal.foramen_sd_mm) + 1e-9 };
}

/** Depths a plan can be made for: as lib/plan refuses them, see docs/methods/plan.md. */
export const measurable = (canal: ChairCanal): { least_mm: number; most_mm: number } => ({ least_mm: canal.orifice_mm + 1, most_mm: canal.foramen_mm + 3 });

/**
 * Where the stop is really set: never beyond a measured working depth, even while the program is down and the plan
 * cannot follow. Once the plan has followed, this changes nothing.
 */
export function stopOf(step: ChairStep, run: Run): { stop_mm: number; held_back: boolean } | null {
  if (step.stop_mm === null) return null;
  const measured = run.measured.get(step.canal);
  const beyond = measured !== undefined && measured.depth_mm < step.stop_mm - 0.005;
  return beyond ? { stop_mm: measured.depth_mm, held_back: true } : { stop_mm: step.stop_mm, held_back: false };
}
