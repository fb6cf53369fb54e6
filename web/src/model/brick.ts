import { type GridGeometry, patientToVoxel } from './grid';
import { type Vec3, add, scale } from './vec';

/** Grey values on a grid, i fastest. */
export interface Brick {
  geometry: GridGeometry;
  values: Int16Array;
}

/** A section through bricks: its middle, its axes in the picture and its scale. */
export interface SectionPlane {
  centre_P: Vec3;
  /** Unit vectors to the right and down in the picture. */
  right: Vec3;
  down: Vec3;
  mm_per_px: number;
}

/** Trilinear grey value at continuous voxel coordinates; NaN outside. */
export function sampleBrick(brick: Brick, x: number, y: number, z: number): number {
  const [ni, nj, nk] = brick.geometry.size;
  if (!(x >= 0 && y >= 0 && z >= 0 && x <= ni - 1 && y <= nj - 1 && z <= nk - 1)) return Number.NaN;
  const i = Math.min(Math.floor(x), Math.max(ni - 2, 0));
  const j = Math.min(Math.floor(y), Math.max(nj - 2, 0));
  const k = Math.min(Math.floor(z), Math.max(nk - 2, 0));
  const di = ni > 1 ? 1 : 0;
  const dj = nj > 1 ? ni : 0;
  const dk = nk > 1 ? ni * nj : 0;
  const at = i + ni * (j + nj * k);
  const v = brick.values;
  const fx = x - i;
  const fy = y - j;
  const fz = z - k;
  const lower =
    ((v[at] ?? 0) * (1 - fx) + (v[at + di] ?? 0) * fx) * (1 - fy) + ((v[at + dj] ?? 0) * (1 - fx) + (v[at + dj + di] ?? 0) * fx) * fy;
  const above = at + dk;
  const upper =
    ((v[above] ?? 0) * (1 - fx) + (v[above + di] ?? 0) * fx) * (1 - fy) +
    ((v[above + dj] ?? 0) * (1 - fx) + (v[above + dj + di] ?? 0) * fx) * fy;
  return lower * (1 - fz) + upper * fz;
}

/** Grey value at a point of the patient frame from the first brick that holds it; NaN outside all. */
export function sampleAt(bricks: readonly Brick[], point_P: Vec3): number {
  for (const brick of bricks) {
    const [x, y, z] = patientToVoxel(brick.geometry, point_P);
    const value = sampleBrick(brick, x, y, z);
    if (!Number.isNaN(value)) return value;
  }
  return Number.NaN;
}

/** Patient point under a pixel of a section `width_px` by `height_px` wide. */
export function pixelToPatient(plane: SectionPlane, width_px: number, height_px: number, x_px: number, y_px: number): Vec3 {
  const right_mm = (x_px - width_px / 2) * plane.mm_per_px;
  const down_mm = (y_px - height_px / 2) * plane.mm_per_px;
  return add(plane.centre_P, add(scale(plane.right, right_mm), scale(plane.down, down_mm)));
}
