import type { SectionPlane } from './brick';
import { type GridGeometry, axisDirection, directionLetter, gridCentre, voxelToPatient } from './grid';
import { type Vec3, add, dot, scale, subtract } from './vec';

export type SectionName = 'axial' | 'coronal' | 'sagittal';

/** One of the three section directions of a voxel grid, laid out as the trade does. */
export interface GridSection {
  name: SectionName;
  /** Voxel axis the section is at right angles to. */
  axis: number;
  normal: Vec3;
  right: Vec3;
  down: Vec3;
}

/** LPS direction each section looks along, and what lies to the right and below in its picture. */
const LAYOUT: Readonly<Record<SectionName, { normal: Vec3; right: Vec3; down: Vec3 }>> = {
  axial: { normal: [0, 0, 1], right: [1, 0, 0], down: [0, 1, 0] },
  coronal: { normal: [0, 1, 0], right: [1, 0, 0], down: [0, 0, -1] },
  sagittal: { normal: [1, 0, 0], right: [0, 1, 0], down: [0, 0, -1] },
};

const ORDERS = [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] as const;

/** The voxel axes that lie nearest to the patient's x, y and z, each used once. */
function axesNearest(grid: GridGeometry): readonly [number, number, number] {
  const score = (order: readonly number[]): number =>
    order.reduce((sum, axis, patient) => sum + Math.abs(axisDirection(grid, axis)[patient] ?? 0), 0);
  return [...ORDERS].sort((a, b) => score(b) - score(a))[0] ?? ORDERS[0];
}

/** Axial, coronal and sagittal sections along the voxel planes, turned the way they are usually shown. */
export function gridSections(grid: GridGeometry): GridSection[] {
  const nearest = axesNearest(grid);
  const along = (wanted: Vec3): { axis: number; direction: Vec3 } => {
    const patient = wanted.findIndex((x) => x !== 0);
    const axis = nearest[patient] ?? 0;
    const direction = axisDirection(grid, axis);
    return { axis, direction: dot(direction, wanted) >= 0 ? direction : scale(direction, -1) };
  };
  return (['axial', 'coronal', 'sagittal'] as const).map((name) => {
    const { normal, right, down } = LAYOUT[name];
    const n = along(normal);
    return { name, axis: n.axis, normal: n.direction, right: along(right).direction, down: along(down).direction };
  });
}

/** Extent in mm of the box of a grid along a direction. */
export function extentAlong(grid: GridGeometry, direction: Vec3): number {
  return [0, 1, 2].reduce((sum, a) => sum + Math.abs(dot(axisDirection(grid, a), direction)) * (grid.size[a] ?? 0) * (grid.spacing_mm[a] ?? 0), 0);
}

/**
 * The plane of a section through `through_P` that shows the whole grid at zoom 1. At a higher zoom the middle moves
 * with the point just so much that every place of the grid can be reached.
 */
export function fittedPlane(grid: GridGeometry, section: GridSection, through_P: Vec3, width_px: number, height_px: number, zoom: number): SectionPlane {
  const fit = Math.max(extentAlong(grid, section.right) / width_px, extentAlong(grid, section.down) / height_px);
  const middle = gridCentre(grid);
  const d = subtract(through_P, middle);
  const follow = 1 - 1 / zoom;
  const centre_P = [
    scale(section.normal, dot(d, section.normal)),
    scale(section.right, dot(d, section.right) * follow),
    scale(section.down, dot(d, section.down) * follow),
  ].reduce((sum, part) => add(sum, part), middle);
  return { centre_P, right: section.right, down: section.down, mm_per_px: fit / zoom };
}

/** Where a patient point falls in a section's picture, and how far it is from the plane. */
export function patientToPixel(plane: SectionPlane, normal: Vec3, width_px: number, height_px: number, point_P: Vec3): { x: number; y: number; away_mm: number } {
  const d = subtract(point_P, plane.centre_P);
  return {
    x: width_px / 2 + dot(d, plane.right) / plane.mm_per_px,
    y: height_px / 2 + dot(d, plane.down) / plane.mm_per_px,
    away_mm: dot(d, normal),
  };
}

/** Letters at the left, right, top and bottom of a picture. */
export function edgeLetters(right: Vec3, down: Vec3): { left: string; right: string; top: string; bottom: string } {
  return {
    left: directionLetter(scale(right, -1)),
    right: directionLetter(right),
    top: directionLetter(scale(down, -1)),
    bottom: directionLetter(down),
  };
}

/** Moves a point by whole voxels along a section's normal; positive is along the normal. */
export function stepThrough(grid: GridGeometry, section: GridSection, point_P: Vec3, voxels: number): Vec3 {
  return add(point_P, scale(section.normal, voxels * (grid.spacing_mm[section.axis] ?? 1)));
}

/** Corners of the box of a grid, for fitting views. */
export function gridCorners(grid: GridGeometry): Vec3[] {
  const ends = [0, 1].flatMap((i) => [0, 1].flatMap((j) => [0, 1].map((k) => [i, j, k] as const)));
  return ends.map(([i, j, k]) => voxelToPatient(grid, [i * (grid.size[0] - 1), j * (grid.size[1] - 1), k * (grid.size[2] - 1)]));
}
