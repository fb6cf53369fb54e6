import { type Brick, type SectionPlane, sampleBrick } from './brick';
import { type GridGeometry, gridCentre } from './grid';
import type { GreyWindow } from './grey';
import { extentAlong } from './planes';
import { type Layer, gatherAt } from './surface';
import { type Vec3, add, anyNormal, cross, length, reject, scale, unit } from './vec';

/**
 * The plane of an expected radiograph seen from `viewer_P`, head up: parallel rays, the receptor at right angles to
 * them, so that lengths across the rays are true.
 */
export function rayPlane(grid: GridGeometry, viewer_P: Vec3, width_px: number, height_px: number): SectionPlane {
  const look = scale(viewer_P, -1);
  const upright = reject([0, 0, 1], look);
  const down = scale(length(upright) > 1e-6 ? unit(upright) : anyNormal(look), -1);
  const right = cross(down, look);
  const mm_per_px = Math.max(extentAlong(grid, right) / width_px, extentAlong(grid, down) / height_px);
  return { centre_P: gridCentre(grid), right, down, mm_per_px };
}

/** All of the box, gathered along the rays. */
export const rayLayer = (grid: GridGeometry, viewer_P: Vec3): Layer => ({ thick_mm: extentAlong(grid, viewer_P), gather: 'rays' });

/** Black for nothing but soft tissue, white for nearly the most any ray loses, from few rays on a coarse grid. */
export function rayWindow(brick: Brick, viewer_P: Vec3): GreyWindow {
  const thin = thinned(brick);
  const plane = rayPlane(thin.geometry, viewer_P, 16, 24);
  const through = cross(plane.right, plane.down);
  const layer = rayLayer(thin.geometry, viewer_P);
  const losses: number[] = [];
  for (let row = 0; row < 24; row++) {
    for (let column = 0; column < 16; column++) {
      const point = add(plane.centre_P, add(scale(plane.right, (column - 7.5) * plane.mm_per_px), scale(plane.down, (row - 11.5) * plane.mm_per_px)));
      const loss = gatherAt([thin], layer, point, through);
      if (loss > 0) losses.push(loss);
    }
  }
  losses.sort((a, b) => a - b);
  return { low: 0, high: Math.max(1, losses[Math.floor(0.97 * losses.length)] ?? 1) };
}

/** Every fourth voxel of a brick: enough for how bright a picture will be. */
function thinned(brick: Brick): Brick {
  const every = 4;
  const { size, spacing_mm } = brick.geometry;
  const few = size.map((n) => Math.max(1, Math.floor((n - 1) / every) + 1)) as unknown as Vec3;
  const values = new Int16Array(few[0] * few[1] * few[2]);
  let at = 0;
  for (let k = 0; k < few[2]; k++) {
    for (let j = 0; j < few[1]; j++) {
      for (let i = 0; i < few[0]; i++) values[at++] = sampleBrick(brick, i * every, j * every, k * every);
    }
  }
  return { geometry: { ...brick.geometry, size: few, spacing_mm: scale(spacing_mm, every) }, values };
}
