import { type Vec3, add, dot, scale, subtract } from './vec';

/** Where the voxels of a scan or of a brick lie in the patient frame. */
export interface GridGeometry {
  size: Vec3;
  spacing_mm: Vec3;
  origin_mm: Vec3;
  /** Row-major 3 x 3; the columns are the unit vectors of the i, j and k axes in LPS. */
  direction: readonly number[];
}

/** Unit vector in LPS of voxel axis 0 (i), 1 (j) or 2 (k). */
export function axisDirection(grid: GridGeometry, axis: number): Vec3 {
  const d = grid.direction;
  return [d[axis] ?? 0, d[3 + axis] ?? 0, d[6 + axis] ?? 0];
}

/** Continuous voxel coordinates to the patient frame; whole numbers are voxel centres. */
export function voxelToPatient(grid: GridGeometry, voxel: Vec3): Vec3 {
  let point = grid.origin_mm;
  for (let axis = 0; axis < 3; axis++) {
    point = add(point, scale(axisDirection(grid, axis), (voxel[axis] ?? 0) * (grid.spacing_mm[axis] ?? 1)));
  }
  return point;
}

/** The inverse of voxelToPatient; the direction matrix is orthonormal. */
export function patientToVoxel(grid: GridGeometry, point_P: Vec3): Vec3 {
  const d = subtract(point_P, grid.origin_mm);
  return [
    dot(d, axisDirection(grid, 0)) / grid.spacing_mm[0],
    dot(d, axisDirection(grid, 1)) / grid.spacing_mm[1],
    dot(d, axisDirection(grid, 2)) / grid.spacing_mm[2],
  ];
}

/** Middle of the grid in the patient frame. */
export const gridCentre = (grid: GridGeometry): Vec3 =>
  voxelToPatient(grid, [(grid.size[0] - 1) / 2, (grid.size[1] - 1) / 2, (grid.size[2] - 1) / 2]);

/** `point_P` moved to the nearest place inside the grid. */
export function clampToGrid(grid: GridGeometry, point_P: Vec3): Vec3 {
  const v = patientToVoxel(grid, point_P);
  const inside = v.map((x, a) => Math.min(Math.max(x, 0), (grid.size[a] ?? 1) - 1)) as unknown as Vec3;
  return voxelToPatient(grid, inside);
}

/** The smallest block size that keeps a whole grid within `limit` voxels. */
export function stepWithin(size: Vec3, limit: number): number {
  let step = 1;
  while (Math.ceil(size[0] / step) * Math.ceil(size[1] / step) * Math.ceil(size[2] / step) > limit) step++;
  return step;
}

/** Letter of the patient direction that `direction_P` points to: L, R, P, A, S or I. */
export function directionLetter(direction_P: Vec3): string {
  const sizes = direction_P.map(Math.abs);
  const axis = sizes.indexOf(Math.max(...sizes));
  return (['LR', 'PA', 'SI'][axis] ?? 'LR').charAt((direction_P[axis] ?? 0) >= 0 ? 0 : 1);
}
