import type { Canal, Device } from '../src/api/documents';
import type { Vec3 } from '../src/model/vec';

/** A canal: 4 mm straight down from the orifice at depth 8 mm, then a quarter circle of radius 5 mm toward +x. */
export function bentCanal(name = 'MB'): Canal {
  const step = 0.1;
  const straight_mm = 4;
  const arc_mm = (5 * Math.PI) / 2;
  const count = Math.floor((straight_mm + arc_mm) / step);
  const s = Array.from({ length: count + 1 }, (_, i) => i * step);
  const point = (at: number): Vec3 => {
    if (at <= straight_mm) return [0, 0, -at];
    const a = (at - straight_mm) / 5;
    return [5 * (1 - Math.cos(a)), 0, -straight_mm - 5 * Math.sin(a)];
  };
  const last = s.at(-1) ?? 0;
  return {
    name,
    orifice_mm: [0, 0, 0],
    foramen_mm: [...point(last)] as [number, number, number],
    length_mm: last,
    depth_to_foramen_mm: 8 + last,
    depth_sd_mm: 0.1,
    samples: {
      depth_mm: s.map((x) => 8 + x),
      point_mm: s.map((x) => [...point(x)] as [number, number, number]),
      diameter_mm: s.map((x) => 0.5 - 0.02 * x),
      diameter_sd_mm: s.map(() => 0.02),
      wall_min_mm: s.map((x) => 1.5 - 0.1 * x),
      curvature_per_mm: s.map((x) => (x > straight_mm ? 0.2 : 0)),
    },
  };
}

export const device = (id: string, more: Partial<Device> = {}): Device =>
  ({ id, kind: 'hand-file', material: 'stainless-steel', tip_mm: 0.25, taper: 0.02, working_part_mm: 16, length_mm: 25, ...more }) as Device;
