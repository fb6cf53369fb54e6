import type { Canal } from '../api/documents';
import { type CanalAt, canalAt, firstDepth, lastDepth } from './canal';
import type { ToothFrame } from './directions';
import type { Column, Surface } from './surface';
import { type Vec3, add, anyNormal, cross, dot, length, reject, scale, subtract, unit } from './vec';

/** A canal laid out along the picture: pulled straight, or with its bends in the plane that is shown. */
export type AlongShape = 'straight' | 'bent';

/** What the picture shows beyond the canal at both ends. */
const BEYOND_MM = 1.5;
const COLUMNS = 240;

/** Direction round the tooth, from buccal toward mesial; from the patient's front toward the left without a frame. */
export function turnDirection(turn_deg: number, frame: ToothFrame | null): Vec3 {
  const turn = (turn_deg * Math.PI) / 180;
  return unit(add(scale(frame?.buccal ?? [0, -1, 0], Math.cos(turn)), scale(frame?.mesial ?? [1, 0, 0], Math.sin(turn))));
}

export interface AlongMap {
  surface: Surface;
  mm_per_px: number;
  /** Pixel of a place beside the canal: a depth and mm toward the top of the picture. */
  place: (depth_mm: number, up_mm: number) => { x: number; y: number };
  /** Depth in the middle of the pixel column. */
  depthAt: (x_px: number) => number;
  /** Unit vector that points up in the picture at a depth. */
  upAt: (depth_mm: number) => Vec3;
}

const sideOf = (direction: Vec3, axis: Vec3): Vec3 => {
  const side = reject(direction, axis);
  return length(side) > 1e-6 ? unit(side) : anyNormal(axis);
};

/** Beyond its ends a canal goes on straight. */
function lineAt(canal: Canal, depth_mm: number): { at: CanalAt; point_P: Vec3 } {
  const at = canalAt(canal, depth_mm);
  return { at, point_P: add(at.point_P, scale(at.tangent, depth_mm - at.depth_mm)) };
}

/**
 * The picture along a canal, crown on the left, apex on the right, `up_P` upwards as far as the canal allows.
 * `straight`: every column stands at right angles to the canal at its depth. `bent`: columns stand at right angles to
 * the chord of the canal, and the surface follows the canal only toward and away from the viewer.
 */
export function alongMap(canal: Canal, shape: AlongShape, up_P: Vec3, width_px: number, height_px: number): AlongMap {
  return shape === 'straight' ? straightMap(canal, up_P, width_px, height_px) : bentMap(canal, up_P, width_px, height_px);
}

function straightMap(canal: Canal, up_P: Vec3, width_px: number, height_px: number): AlongMap {
  const from = firstDepth(canal) - BEYOND_MM;
  const to = lastDepth(canal) + BEYOND_MM;
  const mm_per_px = (to - from) / width_px;
  const half = (height_px / 2) * mm_per_px;
  const surface = Array.from({ length: COLUMNS }, (_, i): Column => {
    const x = i / (COLUMNS - 1);
    const { at, point_P } = lineAt(canal, from + x * (to - from));
    const side = sideOf(up_P, at.tangent);
    return { x, top_P: add(point_P, scale(side, half)), bottom_P: add(point_P, scale(side, -half)), through_P: cross(at.tangent, side) };
  });
  return {
    surface,
    mm_per_px,
    place: (depth, up) => ({ x: (depth - from) / mm_per_px, y: height_px / 2 - up / mm_per_px }),
    depthAt: (x) => from + x * mm_per_px,
    upAt: (depth) => sideOf(up_P, canalAt(canal, depth).tangent),
  };
}

function bentMap(canal: Canal, up_P: Vec3, width_px: number, height_px: number): AlongMap {
  const origin = canal.samples.point_mm[0] ?? canal.orifice_mm;
  const axis = unit(subtract(canal.samples.point_mm.at(-1) ?? canal.foramen_mm, origin));
  const up = sideOf(up_P, axis);
  const through = cross(axis, up);
  const run = followed(canal, origin, axis, up, through);
  const [first, last] = [run[0], run.at(-1)];
  const from = (first?.along ?? 0) - BEYOND_MM;
  const to = (last?.along ?? 1) + BEYOND_MM;
  const ups = run.map((r) => r.up);
  const middle = (Math.min(...ups) + Math.max(...ups)) / 2;
  const mm_per_px = Math.max((to - from) / width_px, (Math.max(...ups) - Math.min(...ups) + 2) / height_px);
  const start = (from + to) / 2 - (width_px / 2) * mm_per_px;
  const half = (height_px / 2) * mm_per_px;
  const surface = Array.from({ length: COLUMNS }, (_, i): Column => {
    const x = i / (COLUMNS - 1);
    const along = start + x * width_px * mm_per_px;
    const at = add(origin, add(scale(axis, along), scale(through, between(run, 'along', along).through)));
    return { x, top_P: add(at, scale(up, middle + half)), bottom_P: add(at, scale(up, middle - half)), through_P: through };
  });
  return {
    surface,
    mm_per_px,
    place: (depth, beside) => {
      const here = between(run, 'depth', depth);
      return { x: (here.along - start) / mm_per_px, y: height_px / 2 - (here.up + beside - middle) / mm_per_px };
    },
    depthAt: (x) => between(run, 'along', start + x * mm_per_px).depth,
    upAt: () => up,
  };
}

interface RunPoint {
  depth: number;
  along: number;
  up: number;
  through: number;
}

/** The canal by its depth along its chord; stretches that turn back are passed over, so that each column has one place. */
function followed(canal: Canal, origin: Vec3, axis: Vec3, up: Vec3, through: Vec3): RunPoint[] {
  const run: RunPoint[] = [];
  canal.samples.point_mm.forEach((p, i) => {
    const d = subtract(p, origin);
    const along = dot(d, axis);
    if (along > (run.at(-1)?.along ?? -Infinity) + 1e-3) run.push({ depth: canal.samples.depth_mm[i] ?? 0, along, up: dot(d, up), through: dot(d, through) });
  });
  return run;
}

/** The place where a growing key has a value; the ends beyond them. */
function between(run: readonly RunPoint[], key: 'depth' | 'along', value: number): RunPoint {
  const next = run.findIndex((r) => r[key] >= value);
  const b = run[next < 0 ? run.length - 1 : next];
  const a = run[Math.max(0, (next < 0 ? run.length : next) - 1)];
  if (!a || !b) return { depth: 0, along: 0, up: 0, through: 0 };
  const t = b[key] > a[key] ? Math.min(1, Math.max(0, (value - a[key]) / (b[key] - a[key]))) : 0;
  const mixed = (k: keyof RunPoint): number => a[k] + (b[k] - a[k]) * t;
  return { depth: mixed('depth'), along: mixed('along'), up: mixed('up'), through: mixed('through') };
}
