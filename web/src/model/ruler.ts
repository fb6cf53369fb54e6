import type { Canal, CanalPlan } from '../api/documents';
import { firstDepth, indexAt, lastDepth, numberAt, wallCounts } from './canal';
import { type RiskStep, curveRisk, wallRisk } from './risk';

/** Depth in mm to pixels along the ruler. */
export interface Scale {
  from_mm: number;
  to_mm: number;
  left_px: number;
  width_px: number;
}

export const pxPerMm = (scale: Scale): number => scale.width_px / (scale.to_mm - scale.from_mm);
export const toPx = (scale: Scale, depth_mm: number): number => scale.left_px + (depth_mm - scale.from_mm) * pxPerMm(scale);
export const toDepth = (scale: Scale, x_px: number): number => scale.from_mm + (x_px - scale.left_px) / pxPerMm(scale);

/** The stretch of depths to show for a tooth: from the reference point, or from just above the first orifice. */
export function spanOf(canals: readonly Canal[], span: 'whole' | 'canals'): { from_mm: number; to_mm: number } {
  if (canals.length === 0) return { from_mm: 0, to_mm: 25 };
  const end = Math.max(...canals.map((c) => lastDepth(c) + 2 * (c.depth_sd_mm ?? 0)));
  const start = Math.min(...canals.map(firstDepth));
  return { from_mm: span === 'whole' ? 0 : Math.max(0, Math.floor(start - 0.5)), to_mm: Math.ceil(end + 0.3) };
}

export interface Tick {
  depth_mm: number;
  /** 2: labelled, 1: whole millimetre, 0: half. */
  level: 0 | 1 | 2;
}

/** Ticks every half millimetre, labelled as densely as `min_label_px` allows. */
export function ticks(scale: Scale, min_label_px = 30): Tick[] {
  const every = [1, 2, 5].find((n) => n * pxPerMm(scale) >= min_label_px) ?? 5;
  const out: Tick[] = [];
  for (let half = Math.ceil(scale.from_mm * 2 - 1e-9) + 0; half <= scale.to_mm * 2 + 1e-9; half++) {
    const whole = half % 2 === 0;
    out.push({ depth_mm: half / 2, level: whole ? ((half / 2) % every === 0 ? 2 : 1) : 0 });
  }
  return out;
}

const NICE = [0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.75, 1, 1.5, 2, 3, 4, 5, 6, 8, 10];

/** The largest nice factor that draws `size_mm` within `room_px`; never nothing. */
export function niceFactor(size_mm: number, room_px: number, px_per_mm: number): number {
  const exact = room_px / Math.max(size_mm * px_per_mm, 1e-9);
  return [...NICE].reverse().find((n) => n <= exact) ?? exact;
}

export interface Factors {
  canal: number;
  wall: number;
}

function percentile(values: readonly number[], fraction: number): number {
  if (values.length === 0) return 0;
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(fraction * sorted.length))] ?? 0;
}

/**
 * One pair of factors for all lanes, so that canals compare by lying under each other. They fit most places; the
 * widest, at the orifice, may reach beyond the lane.
 */
export function factorsFor(canals: readonly Canal[], lane_px: number, scale: Scale): Factors {
  const widths = canals.flatMap((c) => c.samples.diameter_mm);
  const walls = canals.flatMap((c) => (c.samples.wall_min_mm ?? []).map((w, i) => wallAcross(c, i, w)));
  return {
    canal: niceFactor(percentile(widths, 0.7), lane_px * 0.45, pxPerMm(scale)),
    wall: walls.length > 0 ? niceFactor(percentile(walls, 0.75), lane_px * 0.3, pxPerMm(scale)) : 1,
  };
}

/** Wall straight across from the thinnest one, from the sheet; the thinnest itself where there is no sheet. */
function wallAcross(canal: Canal, index: number, thinnest: number): number {
  const row = canal.wall_sheet?.wall_mm[index];
  if (!row || row.length === 0) return thinnest;
  const at = row.indexOf(Math.min(...row));
  return row[(at + Math.floor(row.length / 2)) % row.length] ?? thinnest;
}

const point = (x: number, y: number): string => `${x.toFixed(1)},${y.toFixed(1)}`;

/** An area between two edges over the same depths, as SVG polygon points. */
function area(xs: readonly number[], upper: readonly number[], lower: readonly number[]): string {
  const there = xs.map((x, i) => point(x, upper[i] ?? 0));
  const back = xs.map((x, i) => point(x, lower[i] ?? 0)).reverse();
  return [...there, ...back].join(' ');
}

export interface LaneShape {
  /** Canal at its width plus and minus one standard deviation, and its mean width. */
  wide: string;
  mean: string;
  narrow: string;
  dentineAbove: string | null;
  dentineBelow: string | null;
}

/** The band of a canal round `middle_px`. */
export function laneShape(canal: Canal, scale: Scale, middle_px: number, factors: Factors): LaneShape {
  const s = canal.samples;
  const k = (pxPerMm(scale) * factors.canal) / 2;
  const xs = s.depth_mm.map((d) => toPx(scale, d));
  const halves = s.diameter_mm.map((d) => d * k);
  const spread = s.diameter_mm.map((_, i) => (s.diameter_sd_mm?.[i] ?? 0) * k);
  const band = (sign: number): string => {
    const h = halves.map((v, i) => Math.max(0.4, v + sign * (spread[i] ?? 0)));
    return area(xs, h.map((v) => middle_px - v), h.map((v) => middle_px + v));
  };
  const walls = s.wall_min_mm;
  const w = pxPerMm(scale) * factors.wall;
  const outer = halves.map((v, i) => v + (spread[i] ?? 0));
  return {
    wide: band(1),
    mean: band(0),
    narrow: band(-1),
    dentineAbove: walls
      ? area(xs, outer.map((v, i) => middle_px - v - wallAcross(canal, i, walls[i] ?? 0) * w), outer.map((v) => middle_px - v))
      : null,
    dentineBelow: walls ? area(xs, outer.map((v) => middle_px + v), outer.map((v, i) => middle_px + v + (walls[i] ?? 0) * w)) : null,
  };
}

export interface StripCell {
  x_px: number;
  width_px: number;
  /** 0 to 1 of the strip's height. */
  height: number;
  risk: RiskStep;
}

/** Curvature at which the strip is full: a radius of 3 mm. */
const FULL_CURVATURE = 1 / 3;
/** Wall at which the strip is full. */
const FULL_WALL_MM = 2;

function cells(canal: Canal, scale: Scale, values: readonly number[] | undefined, height: (v: number) => number, risk: (v: number) => RiskStep): StripCell[] {
  if (!values) return [];
  const depths = canal.samples.depth_mm;
  return values.map((value, i) => {
    const here = depths[i] ?? 0;
    const left = toPx(scale, i > 0 ? ((depths[i - 1] ?? here) + here) / 2 : here);
    const right = toPx(scale, i < depths.length - 1 ? ((depths[i + 1] ?? here) + here) / 2 : here);
    return { x_px: left, width_px: Math.max(0, right - left), height: Math.min(1, Math.max(0, height(value))), risk: risk(value) };
  });
}

export const curveCells = (canal: Canal, scale: Scale): StripCell[] =>
  cells(canal, scale, canal.samples.curvature_per_mm, (k) => k / FULL_CURVATURE, curveRisk);

export const wallCells = (canal: Canal, scale: Scale): StripCell[] =>
  cells(canal, scale, canal.samples.wall_min_mm, (w) => w / FULL_WALL_MM, wallRisk).map((cell, i) =>
    wallCounts(canal, canal.samples.depth_mm[i] ?? 0) ? cell : { ...cell, risk: 0 },
  );

/** What the plan leaves of the walls that files thin first, from `removal.along`. */
export type WallLeft = NonNullable<NonNullable<CanalPlan['removal']>['along']>;

export interface LeftCell extends StripCell {
  /** The wall is that toward the furcation. */
  danger: boolean;
}

/** Runs of cells where a wall is left; a straight stretch has none. */
export function leftCells(left: WallLeft, scale: Scale): LeftCell[][] {
  const runs: LeftCell[][] = [];
  let run: LeftCell[] = [];
  left.depth_mm.forEach((depth, i) => {
    const wall = left.wall_mm[i];
    if (typeof wall !== 'number') {
      run = [];
      return;
    }
    const half = ((left.depth_mm[i + 1] ?? depth) - (left.depth_mm[i - 1] ?? depth)) / (i > 0 && i < left.depth_mm.length - 1 ? 4 : 2);
    const x_px = toPx(scale, depth - half);
    const cell = { x_px, width_px: toPx(scale, depth + half) - x_px, height: Math.min(1, wall / FULL_WALL_MM), risk: wallRisk(wall), danger: left.danger_zone[i] ?? false };
    if (run.length === 0) runs.push(run);
    run.push(cell);
  });
  return runs;
}

/** Where least is left; null when no wall is watched. */
export function leastLeft(left: WallLeft): (Extreme & { danger: boolean }) | null {
  let least: (Extreme & { danger: boolean }) | null = null;
  left.wall_mm.forEach((wall, i) => {
    if (typeof wall === 'number' && (!least || wall < least.value)) least = { depth_mm: left.depth_mm[i] ?? 0, value: wall, danger: left.danger_zone[i] ?? false };
  });
  return least;
}

/** Neighbouring cells of one risk as one area, so that a strip is a handful of shapes. */
export function stripAreas(strip: readonly StripCell[], base_px: number, height_px: number): { points: string; risk: RiskStep }[] {
  const out: { points: string; risk: RiskStep }[] = [];
  let run: StripCell[] = [];
  const close = (): void => {
    const [first] = run;
    const last = run.at(-1);
    if (!first || !last) return;
    const top = run.map((c) => point(c.x_px + c.width_px / 2, base_px - c.height * height_px));
    const start = point(first.x_px, base_px - first.height * height_px);
    const end = point(last.x_px + last.width_px, base_px - last.height * height_px);
    out.push({
      points: [point(first.x_px, base_px), start, ...top, end, point(last.x_px + last.width_px, base_px)].join(' '),
      risk: first.risk,
    });
  };
  for (const cell of strip) {
    if (run.length > 0 && run[0]?.risk !== cell.risk) {
      close();
      run = [];
    }
    run.push(cell);
  }
  close();
  return out;
}

/** Depth and value of the sharpest curve; null when curves are not known. */
export const sharpest = (canal: Canal): Extreme | null => extreme(canal, canal.samples.curvature_per_mm, (v, best) => v > best);

/** Depth and value of the thinnest wall that counts; null when walls are not known. */
export const thinnest = (canal: Canal): Extreme | null =>
  extreme(canal, canal.samples.wall_min_mm?.filter((_, i) => wallCounts(canal, canal.samples.depth_mm[i] ?? 0)), (v, best) => v < best);

export interface Extreme {
  depth_mm: number;
  value: number;
}

function extreme(canal: Canal, values: readonly number[] | undefined, better: (value: number, best: number) => boolean): Extreme | null {
  if (!values || values.length === 0) return null;
  let best = 0;
  values.forEach((v, i) => {
    const champion = values[best] ?? v;
    if (better(v, champion)) best = i;
  });
  return { depth_mm: canal.samples.depth_mm[best] ?? 0, value: values[best] ?? 0 };
}

/** A curve over depths as SVG polyline points; values are scaled so that `full` fills `height_px`. */
export function curveLine(depths_mm: readonly number[], values: readonly number[], scale: Scale, base_px: number, height_px: number, full: number): string {
  return depths_mm
    .map((d, i) => point(toPx(scale, d), base_px - Math.min(1, (values[i] ?? 0) / Math.max(full, 1e-12)) * height_px))
    .join(' ');
}

/** Half the drawn height of a canal at a depth. */
export function halfHeightAt(canal: Canal, depth_mm: number, scale: Scale, factors: Factors): number {
  const d = numberAt(canal.samples.diameter_mm, indexAt(canal.samples.depth_mm, depth_mm)) ?? 0;
  return (d * pxPerMm(scale) * factors.canal) / 2;
}
