/** The treatment log as it travels; docs/http-api.md. Entries are never changed: a correction is a new one. */
export const ENTRY_KINDS = [
  'opened',
  'step-done',
  'step-undone',
  'depth-measured',
  'device-deformed',
  'device-broken',
  'blocked',
  'rinse-started',
  'rinse-stopped',
  'note',
  'correction',
] as const;
export type EntryKind = (typeof ENTRY_KINDS)[number];

export interface NewEntry {
  /** UUID made here, so that sending an entry twice stores it once. */
  entry_id: string;
  /** Local time with milliseconds and offset, ISO 8601. */
  at: string;
  kind: EntryKind;
  canal?: string;
  device?: string;
  depth_mm?: number;
  seconds?: number;
  text?: string;
  step?: string;
  /** For a correction: the entry_id it corrects. */
  corrects?: string;
}

/** An entry as the program keeps it. */
export interface Entry extends NewEntry {
  sequence: number;
  received: string;
}

/** A time as the log writes it: local, with milliseconds and the offset from UTC. */
export function timestamp(time: Date): string {
  const two = (n: number): string => String(Math.floor(Math.abs(n))).padStart(2, '0');
  const offset_min = -time.getTimezoneOffset();
  const date = `${time.getFullYear()}-${two(time.getMonth() + 1)}-${two(time.getDate())}`;
  const clock = `${two(time.getHours())}:${two(time.getMinutes())}:${two(time.getSeconds())}.${String(time.getMilliseconds()).padStart(3, '0')}`;
  return `${date}T${clock}${offset_min < 0 ? '-' : '+'}${two(offset_min / 60)}:${two(offset_min % 60)}`;
}

/**
 * What happened, oldest first: what the program has, then what it does not have yet. An entry that is in both (sent,
 * but the answer was lost) counts once.
 */
export function joined(acknowledged: readonly Entry[], waiting: readonly NewEntry[]): readonly NewEntry[] {
  const known = new Set(acknowledged.map((e) => e.entry_id));
  return [...acknowledged].sort((a, b) => a.sequence - b.sequence).concat(waiting.filter((e) => !known.has(e.entry_id)) as Entry[]);
}
