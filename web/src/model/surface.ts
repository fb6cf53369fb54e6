import { type Brick, type SectionPlane, pixelToPatient, sampleAt } from './brick';
import type { GreyWindow } from './grey';
import { type Vec3, add, cross, scale, subtract } from './vec';

/** A column of a picture: where its upper and lower end lie in the patient, and the direction through the picture. */
export interface Column {
  /** Place along the picture's width, 0 to 1. */
  x: number;
  top_P: Vec3;
  bottom_P: Vec3;
  /** Unit vector away from the viewer: a slab reaches along it to both sides. */
  through_P: Vec3;
}

/**
 * The surface a picture is cut along: columns from left to right, between which everything is linear. Two columns make
 * a plane, many a surface that follows a canal.
 */
export type Surface = readonly Column[];

/**
 * How thick the layer is that a picture gathers, and what it keeps of it. `rays` is what a ray loses in it beyond soft
 * tissue, as mm of water: the sum of grey / 1000 over the way, air counting as tissue (cheek, tongue, a water bath).
 */
export interface Layer {
  thick_mm: number;
  gather: 'mean' | 'most' | 'least' | 'rays';
}

export const THIN: Layer = { thick_mm: 0, gather: 'mean' };

/** Samples through a layer: one a voxel of the finest brick, which with interpolation misses nothing. */
export function stepsThrough(layer: Layer, bricks: readonly Brick[]): number {
  const voxel_mm = Math.min(...bricks.flatMap((b) => b.geometry.spacing_mm));
  return Math.max(1, Math.min(512, Math.ceil(layer.thick_mm / voxel_mm)));
}

/** The flat surface of a section. */
export function planeSurface(plane: SectionPlane, width_px: number, height_px: number): Surface {
  const through_P = cross(plane.right, plane.down);
  return [0, 1].map((x) => ({
    x,
    top_P: pixelToPatient(plane, width_px, height_px, x * width_px, 0),
    bottom_P: pixelToPatient(plane, width_px, height_px, x * width_px, height_px),
    through_P,
  }));
}

/** Patient point at a place of a surface; x and y run from 0 to 1, right and down. */
export function surfacePoint(surface: Surface, x: number, y: number): Vec3 {
  const at = surface.findIndex((c) => c.x >= x);
  const right = surface[at < 0 ? surface.length - 1 : at];
  const left = surface[Math.max(0, (at < 0 ? surface.length : at) - 1)];
  if (!left || !right) return [0, 0, 0];
  const t = right.x > left.x ? Math.min(1, Math.max(0, (x - left.x) / (right.x - left.x))) : 0;
  const inColumn = (c: Column): Vec3 => add(c.top_P, scale(subtract(c.bottom_P, c.top_P), y));
  const a = inColumn(left);
  return add(a, scale(subtract(inColumn(right), a), t));
}

/** What a layer is worth at a point: its mean, greatest or least grey value or the loss of a ray; NaN outside all bricks. */
export function gatherAt(bricks: readonly Brick[], layer: Layer, point_P: Vec3, through_P: Vec3): number {
  const steps = stepsThrough(layer, bricks);
  const values: number[] = [];
  for (let i = 0; i < steps; i++) {
    const value = sampleAt(bricks, add(point_P, scale(through_P, ((i + 0.5) / steps - 0.5) * layer.thick_mm)));
    if (!Number.isNaN(value)) values.push(value);
  }
  if (values.length === 0) return Number.NaN;
  if (layer.gather === 'most') return Math.max(...values);
  if (layer.gather === 'least') return Math.min(...values);
  if (layer.gather === 'mean') return values.reduce((a, b) => a + b) / values.length;
  return values.reduce((sum, grey) => sum + Math.max(0, grey / 1000), 0) * (layer.thick_mm / steps);
}

/** Draws a surface as RGBA without a graphics card: the page's way where there is none, and the check of the card's. */
export function renderSurface(bricks: readonly Brick[], surface: Surface, layer: Layer, window: GreyWindow, width_px: number, height_px: number, rgba: Uint8ClampedArray): void {
  const gain = 255 / Math.max(window.high - window.low, 1e-6);
  for (let column = 0, x = 0.5 / width_px; column < width_px; column++, x += 1 / width_px) {
    const top = surfacePoint(surface, x, 0);
    const step = scale(subtract(surfacePoint(surface, x, 1), top), 1 / height_px);
    const through_P = surface.findLast((c) => c.x <= x)?.through_P ?? [0, 0, 1];
    for (let row = 0; row < height_px; row++) {
      const value = gatherAt(bricks, layer, add(top, scale(step, row + 0.5)), through_P);
      const at = 4 * (row * width_px + column);
      rgba.fill((value - window.low) * gain, at, at + 3);
      rgba[at + 3] = Number.isNaN(value) ? 0 : 255;
    }
  }
}
