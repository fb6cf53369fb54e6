import { signal } from '@preact/signals';
import type { Edit, EditList } from '../api/documents';
import type { Making } from './actions/slow';
import type { CanalAt } from './canal';
import { type Vec3, add, scale } from './vec';

/** Correcting a traced tooth by hand. */
export function createCorrections() {
  return {
    /** The case was traced here, so it can be corrected. */
    possible: signal(false),
    /** Handles are shown and edits are quick. */
    on: signal(false),
    preparing: signal<Making | null>(null),
    list: signal<EditList>({ edits: [], undone: [] }),
    /** An answer is awaited. */
    busy: signal(false),
    sentence: signal<string | null>(null),
  };
}

const point = (p: Vec3): [number, number, number] => [p[0], p[1], p[2]];

export const moveEdit = (canal: string, from_P: Vec3, to_P: Vec3): Edit => ({ kind: 'move-point', canal, from_mm: point(from_P), to_mm: point(to_P) });

/** What a hand changes of the section at the cursor. */
export interface SectionChange {
  long_mm?: number;
  short_mm?: number;
  axis_deg?: number;
}

/** Widths a section may have, mm; the program refuses others. */
const WIDTH_MM = { least: 0.05, most: 5 } as const;
const width = (mm: number): number => Math.min(WIDTH_MM.most, Math.max(WIDTH_MM.least, mm));

/** The section of a canal drawn anew. The longer diameter stays the long one: where they change places the axis turns. */
export function sectionEdit(canal: string, at: CanalAt, change: SectionChange): Edit {
  let long = width(change.long_mm ?? at.long_mm ?? at.diameter_mm);
  let short = width(change.short_mm ?? at.short_mm ?? at.diameter_mm);
  let axis = change.axis_deg ?? at.long_axis_deg ?? 0;
  if (short > long) {
    [long, short] = [short, long];
    axis += 90;
  }
  return { kind: 'section', canal, centre_mm: point(at.point_P), diameter_short_mm: short, diameter_long_mm: long, long_axis_deg: ((axis % 180) + 180) % 180 };
}

/** Points of an outline the program takes at most. */
const OUTLINE_POINTS = 400;

/** Share of a circle's area (of the same length round) from which a line goes round something: a quarter of a circle has 0.4. */
const ROUND_FROM = 0.3;

/** True when a line, closed from its last point to its first, goes round something instead of to and fro. */
export function goesRound(line: readonly { x: number; y: number }[]): boolean {
  const edges = line.map((a, i) => [a, line[(i + 1) % line.length] ?? a] as const);
  const area = Math.abs(edges.reduce((sum, [a, b]) => sum + (a.x * b.y - b.x * a.y) / 2, 0));
  const around = edges.reduce((sum, [a, b]) => sum + Math.hypot(b.x - a.x, b.y - a.y), 0);
  return around > 0 && (4 * Math.PI * area) / around ** 2 >= ROUND_FROM;
}

/** The section of a canal by an outline drawn with a free hand, closed; null for fewer points than make one. */
export function outlineEdit(canal: string, outline_P: readonly Vec3[]): Edit | null {
  const every = Math.ceil(outline_P.length / OUTLINE_POINTS);
  const points = outline_P.filter((_, i) => i % every === 0);
  return points.length < 3 ? null : { kind: 'outline', canal, outline_mm: points.map(point) };
}

export const newCanalEdit = (orifice_P: Vec3, end_P: Vec3): Edit => ({ kind: 'add-canal', orifice_mm: point(orifice_P), end_mm: point(end_P) });
export const referenceEdit = (to_P: Vec3): Edit => ({ kind: 'move-reference', to_mm: point(to_P) });

/** A place beside another, so far to the right and down in a picture. */
export const shifted = (from_P: Vec3, right: Vec3, right_mm: number, down: Vec3, down_mm: number): Vec3 => add(from_P, add(scale(right, right_mm), scale(down, down_mm)));

/** True when a new edit only goes on with the last one: the same handle, moved again. */
export function goesOn(last: Edit | undefined, next: Edit): boolean {
  const near = (a: readonly number[], b: readonly number[]): boolean => Math.hypot(...a.map((x, i) => x - (b[i] ?? 0))) < 0.06;
  if (last?.kind === 'move-point' && next.kind === 'move-point') return last.canal === next.canal && near(last.to_mm, next.from_mm);
  if (last?.kind === 'section' && next.kind === 'section') return last.canal === next.canal && near(last.centre_mm, next.centre_mm);
  return last?.kind === 'move-reference' && next.kind === 'move-reference';
}

/** The list with an edit more; one that goes on with the last takes its place, from where that one began. */
export function withEdit(edits: readonly Edit[], next: Edit, joined: boolean): Edit[] {
  const last = edits.at(-1);
  if (!joined || !goesOn(last, next)) return [...edits, next];
  const whole = last?.kind === 'move-point' && next.kind === 'move-point' ? { ...next, from_mm: last.from_mm } : next;
  return [...edits.slice(0, -1), whole];
}
