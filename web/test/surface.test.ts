import { describe, expect, it } from 'vitest';
import { alongMap, turnDirection } from '../src/model/along';
import type { Brick } from '../src/model/brick';
import { measuredValue } from '../src/model/pictures';
import { rayLayer, rayPlane } from '../src/model/radiograph';
import { gatherAt, planeSurface, surfacePoint } from '../src/model/surface';
import { type Vec3, add, cross, distance, dot, scale, unit } from '../src/model/vec';
import { halfBrick } from '../src/view/grey/half';
import { pack } from '../src/view/grey/GreyPainter';
import { bentCanal } from './samples';

/** A block of one grey value, 10 mm x 8 mm x 6 mm of it within the outermost voxel centres. */
function block(grey: number, spacing_mm = 0.5): Brick {
  const size: Vec3 = [10 / spacing_mm + 1, 8 / spacing_mm + 1, 6 / spacing_mm + 1];
  const geometry = { size, spacing_mm: [spacing_mm, spacing_mm, spacing_mm] as Vec3, origin_mm: [-5, -4, -3] as Vec3, direction: [1, 0, 0, 0, 1, 0, 0, 0, 1] };
  return { geometry, values: new Int16Array(size[0] * size[1] * size[2]).fill(grey) };
}

describe('what a ray loses', () => {
  // Beer and Lambert: through a uniform block the loss is attenuation times thickness (closed form).
  it('is thickness times what the block exceeds soft tissue by, and doubles with it', () => {
    const through = (grey: number, thick_mm: number): number => gatherAt([block(grey)], { thick_mm, gather: 'rays' }, [0, 0, 0], [0, 1, 0]);
    expect(through(1000, 6)).toBeCloseTo(6, 6);
    expect(through(2000, 6)).toBeCloseTo(12, 6);
    expect(through(1000, 3)).toBeCloseTo(3, 6);
  });

  it('counts air as soft tissue', () => {
    expect(gatherAt([block(-1000)], { thick_mm: 6, gather: 'rays' }, [0, 0, 0], [0, 1, 0])).toBe(0);
  });

  it('is mirrored when seen from behind', () => {
    const grid = block(0).geometry;
    const front = rayPlane(grid, [0, -1, 0], 100, 100);
    const back = rayPlane(grid, [0, 1, 0], 100, 100);
    expect(distance(front.right, scale(back.right, -1))).toBeLessThan(1e-12);
    expect(front.down).toEqual(back.down);
    expect(front.right.map((x) => x + 0)).toEqual([1, 0, 0]);
    expect(rayLayer(grid, [0, -1, 0]).thick_mm).toBeCloseTo(8.5, 9);
  });

  // Two canals s apart along the beam move apart by s sin(angle) on a receptor at right angles to it (closed form).
  it('separates canals that lie behind one another by the sine of the turn', () => {
    const s = 3;
    const plane = rayPlane(block(0).geometry, turnDirection(20, null), 100, 100);
    expect(Math.abs(dot([0, s, 0], plane.right))).toBeCloseTo(1.026, 3);
  });
});

describe('layers', () => {
  it('keep the mean, the greatest or the least', () => {
    const brick = block(0);
    const [ni, nj] = brick.geometry.size;
    brick.values.forEach((_, i) => (brick.values[i] = Math.floor(i / (ni * nj)) * 100));
    const at = (gather: 'mean' | 'most' | 'least'): number => gatherAt([brick], { thick_mm: 2, gather }, [0, 0, 0], [0, 0, 1]);
    expect(at('mean')).toBeCloseTo(600, 6);
    expect(at('most')).toBeCloseTo(750, 6);
    expect(at('least')).toBeCloseTo(450, 6);
  });
});

describe('surfaces', () => {
  it('give back the plane they were made of', () => {
    const plane = { centre_P: [1, 2, 3] as Vec3, right: unit([1, 1, 0]), down: [0, 0, -1] as Vec3, mm_per_px: 0.1 };
    const surface = planeSurface(plane, 200, 100);
    expect(distance(surfacePoint(surface, 0.5, 0.5), plane.centre_P)).toBeLessThan(1e-12);
    expect(distance(surfacePoint(surface, 0.75, 0.25), add(plane.centre_P, add(scale(plane.right, 5), scale(plane.down, -2.5))))).toBeLessThan(1e-12);
    expect(distance(surface[0]?.through_P ?? [0, 0, 0], cross(plane.right, plane.down))).toBeLessThan(1e-12);
  });

  for (const shape of ['straight', 'bent'] as const) {
    it(`follow a canal, ${shape}: its middle is where the scan says, its depth where the ruler says`, () => {
      const canal = bentCanal();
      const map = alongMap(canal, shape, [0, -1, 0], 400, 120);
      canal.samples.point_mm.forEach((p, i) => {
        const depth = canal.samples.depth_mm[i] ?? 0;
        const { x, y } = map.place(depth, 0);
        // Columns stand 0.06 mm apart: half of that, and the sagitta of a 5 mm bend between them.
        expect(distance(surfacePoint(map.surface, x / 400, y / 120), p)).toBeLessThan(0.03);
        expect(map.depthAt(x)).toBeCloseTo(depth, 1);
      });
    });
  }

  it('pulled straight put equal depths at equal distances', () => {
    const map = alongMap(bentCanal(), 'straight', [0, -1, 0], 400, 120);
    expect(map.place(10, 0).x - map.place(9, 0).x).toBeCloseTo(map.place(15, 0).x - map.place(14, 0).x, 9);
    expect(map.place(10, 0).y - map.place(10, 1).y).toBeCloseTo(map.place(10, 0).x - map.place(9, 0).x, 9);
  });
});

describe('measures by hand', () => {
  it('are mm between two points and degrees at the middle of three', () => {
    expect(measuredValue({ kind: 'length', points_P: [[0, 0, 0], [3, 4, 12]] })).toBeCloseTo(13, 12);
    expect(measuredValue({ kind: 'angle', points_P: [[1, 0, 0], [0, 0, 0], [0, 0, 2]] })).toBeCloseTo(90, 9);
    expect(measuredValue({ kind: 'angle', points_P: [[1, 0, 0], [0, 0, 0]] })).toBeNull();
  });
});

describe('grey values for the card', () => {
  /** IEEE 754-2019 half precision, normal numbers and zero. */
  const value = (bits: number): number => ((bits & 0x7fff) === 0 ? 0 : (bits & 0x8000 ? -1 : 1) * 2 ** (((bits >> 10) & 31) - 15) * (1 + (bits & 1023) / 1024));

  it('are exact over the 4096 levels of a 12-bit scan', () => {
    const values = Int16Array.from({ length: 4096 }, (_, i) => i - 1024);
    const half = halfBrick(values);
    expect([...values].filter((v, i) => value(half.values[i] ?? 0) + half.middle !== v)).toEqual([]);
  });

  it('err by at most one part in 1024 of the distance from the middle over the whole range', () => {
    const values = Int16Array.from({ length: 6553 }, (_, i) => -32768 + 10 * i);
    const half = halfBrick(values);
    expect([...values].filter((v, i) => Math.abs(value(half.values[i] ?? 0) + half.middle - v) > Math.abs(v - half.middle) / 1024)).toEqual([]);
  });

  it('lie on the drawing surface without covering one another', () => {
    const sizes = [{ width: 1500, height: 200 }, { width: 300, height: 180 }, { width: 400, height: 220 }, { width: 100, height: 50 }];
    const places = pack(sizes);
    const boxes = sizes.map((s, i) => ({ ...s, ...(places.at[i] ?? { x: 0, y: 0 }) }));
    boxes.forEach((a, i) => {
      expect(a.x + a.width).toBeLessThanOrEqual(places.width);
      expect(a.y + a.height).toBeLessThanOrEqual(places.height);
      boxes.slice(i + 1).forEach((b) => expect(a.x + a.width <= b.x || b.x + b.width <= a.x || a.y + a.height <= b.y || b.y + b.height <= a.y).toBe(true));
    });
  });
});
