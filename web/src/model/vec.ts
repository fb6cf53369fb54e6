/** A point or direction in the patient frame (LPS, mm) or in voxels; the name says which. */
export type Vec3 = readonly [number, number, number];

export const add = (a: Vec3, b: Vec3): Vec3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const subtract = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const scale = (a: Vec3, factor: number): Vec3 => [a[0] * factor, a[1] * factor, a[2] * factor];
export const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const cross = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
export const length = (a: Vec3): number => Math.hypot(a[0], a[1], a[2]);
export const distance = (a: Vec3, b: Vec3): number => length(subtract(a, b));
export const mix = (a: Vec3, b: Vec3, t: number): Vec3 => [
  a[0] + (b[0] - a[0]) * t,
  a[1] + (b[1] - a[1]) * t,
  a[2] + (b[2] - a[2]) * t,
];

/** Unit vector along `a`; the zero vector stays zero. */
export function unit(a: Vec3): Vec3 {
  const n = length(a);
  return n > 0 ? scale(a, 1 / n) : [0, 0, 0];
}

/** Part of `a` at right angles to the unit vector `axis`. */
export const reject = (a: Vec3, axis: Vec3): Vec3 => subtract(a, scale(axis, dot(a, axis)));

/** Any unit vector at right angles to the unit vector `axis`. */
export function anyNormal(axis: Vec3): Vec3 {
  const helper: Vec3 = Math.abs(axis[0]) < 0.9 ? [1, 0, 0] : [0, 1, 0];
  return unit(reject(helper, axis));
}

/** `a` turned by `angle_rad` about the unit vector `axis`, right-handed. */
export function rotate(a: Vec3, axis: Vec3, angle_rad: number): Vec3 {
  const c = Math.cos(angle_rad);
  const s = Math.sin(angle_rad);
  return add(add(scale(a, c), scale(cross(axis, a), s)), scale(axis, dot(axis, a) * (1 - c)));
}
