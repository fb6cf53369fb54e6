import type { Canal } from '../api/documents';
import { type RiskStep, WALL_ENDS_MM, curveRisk, wallRisk, worse } from './risk';
import { type Vec3, anyNormal, cross, distance, dot, length, mix, reject, rotate, subtract, unit } from './vec';

/** Everything known of a canal at one depth; a figure the tooth file leaves out is undefined. */
export interface CanalAt {
  depth_mm: number;
  point_P: Vec3;
  /** Unit vector toward the apex. */
  tangent: Vec3;
  diameter_mm: number;
  diameter_sd_mm: number | undefined;
  short_mm: number | undefined;
  long_mm: number | undefined;
  long_axis_deg: number | undefined;
  wall_min_mm: number | undefined;
  wall_min_toward: Vec3 | undefined;
  curvature_per_mm: number | undefined;
  /** Fractional index into the samples. */
  index: number;
}

export const firstDepth = (canal: Canal): number => canal.samples.depth_mm[0] ?? 0;
export const lastDepth = (canal: Canal): number => canal.samples.depth_mm.at(-1) ?? firstDepth(canal);

/** Fractional sample index of a depth; depths beyond the canal are pulled to its ends. */
export function indexAt(depths_mm: readonly number[], depth_mm: number): number {
  const last = depths_mm.length - 1;
  if (last <= 0 || depth_mm <= (depths_mm[0] ?? 0)) return 0;
  if (depth_mm >= (depths_mm[last] ?? 0)) return last;
  let low = 0;
  let high = last;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((depths_mm[middle] ?? 0) <= depth_mm) low = middle;
    else high = middle;
  }
  const a = depths_mm[low] ?? 0;
  const b = depths_mm[high] ?? a;
  return b > a ? low + (depth_mm - a) / (b - a) : low;
}

/** Linear interpolation in an array of numbers at a fractional index. */
export function numberAt(values: readonly number[] | undefined, index: number): number | undefined {
  if (!values || values.length === 0) return undefined;
  const low = Math.min(Math.floor(index), values.length - 1);
  const a = values[low] ?? 0;
  const b = values[Math.min(low + 1, values.length - 1)] ?? a;
  return a + (b - a) * (index - low);
}

export function vectorAt(values: readonly Vec3[] | undefined, index: number): Vec3 | undefined {
  if (!values || values.length === 0) return undefined;
  const low = Math.min(Math.floor(index), values.length - 1);
  const a = values[low] ?? [0, 0, 0];
  const b = values[Math.min(low + 1, values.length - 1)] ?? a;
  return mix(a, b, index - low);
}

/** Unit tangent toward the apex at a fractional index, by central differences. */
export function tangentAt(points: readonly Vec3[], index: number): Vec3 {
  const last = points.length - 1;
  const low = Math.max(0, Math.floor(index) - 1);
  const high = Math.min(last, Math.ceil(index) + 1);
  const a = points[low];
  const b = points[high];
  return a && b && high > low ? unit(subtract(b, a)) : [0, 0, -1];
}

export function canalAt(canal: Canal, depth_mm: number): CanalAt {
  const s = canal.samples;
  const index = indexAt(s.depth_mm, depth_mm);
  const toward = vectorAt(s.wall_min_toward, index);
  // Half-way between two samples an axis angle must not be interpolated across the jump from 179 to 0 degrees.
  const long_axis_deg = s.long_axis_deg?.[Math.round(index)];
  return {
    depth_mm: numberAt(s.depth_mm, index) ?? depth_mm,
    point_P: vectorAt(s.point_mm, index) ?? canal.orifice_mm,
    tangent: tangentAt(s.point_mm, index),
    diameter_mm: numberAt(s.diameter_mm, index) ?? 0,
    diameter_sd_mm: numberAt(s.diameter_sd_mm, index),
    short_mm: numberAt(s.diameter_short_mm, index),
    long_mm: numberAt(s.diameter_long_mm, index),
    long_axis_deg,
    wall_min_mm: numberAt(s.wall_min_mm, index),
    wall_min_toward: toward && length(toward) > 0.1 ? unit(toward) : undefined,
    curvature_per_mm: numberAt(s.curvature_per_mm, index),
    index,
  };
}

/** True where the wall of a canal says something: not in the last stretch, where the root itself ends. */
export const wallCounts = (canal: Canal, depth_mm: number): boolean => depth_mm <= lastDepth(canal) - WALL_ENDS_MM;

/** Risk of a place in a canal: the worse of its curve and its wall. */
export const riskAt = (canal: Canal, at: CanalAt): RiskStep =>
  worse(
    at.curvature_per_mm === undefined ? 0 : curveRisk(at.curvature_per_mm),
    at.wall_min_mm === undefined || !wallCounts(canal, at.depth_mm) ? 0 : wallRisk(at.wall_min_mm),
  );

/**
 * Two axes of the section across a canal, seen looking toward the apex: `right` is the patient's x axis projected
 * onto the section (y where x is within 10 degrees of the tangent), `down` completes them right-handed about the
 * tangent. The same directions as `long_axis_deg` of the tooth file, so a turn from right to down is positive.
 */
export function sectionAxes(tangent: Vec3): { right: Vec3; down: Vec3 } {
  const alongX = Math.abs(tangent[0]) > Math.cos((10 * Math.PI) / 180);
  const helper: Vec3 = alongX ? [0, 1, 0] : [1, 0, 0];
  const projected = reject(helper, tangent);
  const right = length(projected) > 1e-6 ? unit(projected) : anyNormal(tangent);
  return { right, down: cross(tangent, right) };
}

export interface WallRay {
  /** Unit vector in the section. */
  direction: Vec3;
  wall_mm: number;
}

/** Dentine round a canal at a depth, from the wall sheet; empty when the tooth file has none. */
export function wallRays(canal: Canal, at: CanalAt): WallRay[] {
  const sheet = canal.wall_sheet;
  const row = sheet?.wall_mm[Math.round(at.index)];
  const first = sheet?.first_direction[Math.round(at.index)];
  if (!sheet || !row || !first) return [];
  const start = unit(reject(first, at.tangent));
  return row.map((wall_mm, i) => ({
    direction: rotate(start, at.tangent, (2 * Math.PI * i) / sheet.theta_count),
    wall_mm,
  }));
}

/** The place on any of the canals nearest to a point, with its distance. */
export function nearestPlace(canals: readonly Canal[], point_P: Vec3): { canal: string; depth_mm: number; distance_mm: number } | null {
  let best: { canal: string; depth_mm: number; distance_mm: number } | null = null;
  for (const canal of canals) {
    canal.samples.point_mm.forEach((p, i) => {
      const distance_mm = distance(p, point_P);
      if (!best || distance_mm < best.distance_mm) {
        best = { canal: canal.name, depth_mm: canal.samples.depth_mm[i] ?? 0, distance_mm };
      }
    });
  }
  return best;
}

/** Half the width of the ellipse fitted to a canal in a direction at right angles to it. */
export function radiusToward(at: CanalAt, direction: Vec3): number {
  const { right, down } = sectionAxes(at.tangent);
  const angle = Math.atan2(dot(direction, down), dot(direction, right)) - ((at.long_axis_deg ?? 0) * Math.PI) / 180;
  const a = (at.long_mm ?? at.diameter_mm) / 2;
  const b = (at.short_mm ?? at.diameter_mm) / 2;
  return a > 0 && b > 0 ? (a * b) / Math.hypot(b * Math.cos(angle), a * Math.sin(angle)) : 0;
}
