import { describe, expect, it } from 'vitest';
import { canalAt, indexAt, nearestPlace, riskAt, sectionAxes, wallRays } from '../src/model/canal';
import { curveRisk, wallRisk } from '../src/model/risk';
import { cross, distance, dot, length, type Vec3 } from '../src/model/vec';
import { bentCanal } from './samples';

describe('a canal at a depth', () => {
  const canal = bentCanal();

  it('lies on the quarter circle it was made of', () => {
    const at = canalAt(canal, 8 + 4 + 5 * (Math.PI / 4));
    expect(distance(at.point_P, [5 * (1 - Math.SQRT1_2), 0, -4 - 5 * Math.SQRT1_2])).toBeLessThan(1e-3);
    expect(dot(at.tangent, [Math.SQRT1_2, 0, -Math.SQRT1_2])).toBeGreaterThan(0.9999);
  });

  it('interpolates linearly and stays at its ends beyond them', () => {
    expect(canalAt(canal, 9.05).diameter_mm).toBeCloseTo(0.5 - 0.02 * 1.05, 10);
    expect(canalAt(canal, 2).diameter_mm).toBeCloseTo(0.5, 10);
    expect(canalAt(canal, 99).depth_mm).toBe(canal.samples.depth_mm.at(-1));
  });

  it('leaves out what the file leaves out', () => {
    const bare = { ...canal, samples: { depth_mm: canal.samples.depth_mm, point_mm: canal.samples.point_mm, diameter_mm: canal.samples.diameter_mm } };
    const at = canalAt(bare, 10);
    expect(at.wall_min_mm).toBeUndefined();
    expect(at.curvature_per_mm).toBeUndefined();
    expect(riskAt(bare, at)).toBe(0);
    expect(wallRays(bare, at)).toEqual([]);
  });

  it('is not called thin where its root ends', () => {
    const thin = bentCanal();
    thin.samples.curvature_per_mm = thin.samples.curvature_per_mm?.map(() => 0);
    thin.samples.wall_min_mm = thin.samples.wall_min_mm?.map(() => 0.2);
    const end = thin.samples.depth_mm.at(-1) ?? 0;
    expect(riskAt(thin, canalAt(thin, end - 1.5))).toBe(0);
    expect(riskAt(thin, canalAt(thin, end - 2.5))).toBe(3);
  });

  it('is found again from a point near it', () => {
    const place = nearestPlace([canal], canalAt(canal, 14).point_P);
    expect(place?.depth_mm).toBeCloseTo(14, 6);
    expect(nearestPlace([], [0, 0, 0])).toBeNull();
  });

  it('finds the sample below a depth', () => {
    expect(indexAt([1, 2, 4], 3)).toBeCloseTo(1.5, 12);
    expect(indexAt([1], 3)).toBe(0);
  });
});

describe('the section across a canal', () => {
  it('is seen toward the apex, right-handed, with x to the right', () => {
    for (const tangent of [[0, 0, -1], [0.6, 0, -0.8], [0.995, 0, -0.0998749]] as Vec3[]) {
      const { right, down } = sectionAxes(tangent);
      expect(length(right)).toBeCloseTo(1, 9);
      expect(dot(right, tangent)).toBeCloseTo(0, 9);
      expect(distance(cross(right, down), tangent)).toBeLessThan(1e-6);
    }
    expect(sectionAxes([0, 0, -1]).right[0]).toBeCloseTo(1, 12);
    expect(sectionAxes([1, 0, 0]).right[1]).toBeCloseTo(1, 12);
  });

  it('has the wall sheet turned right-handed from its first direction', () => {
    const canal = bentCanal();
    const n = canal.samples.depth_mm.length;
    canal.wall_sheet = { theta_count: 4, first_direction: Array.from({ length: n }, () => [1, 0, 0]), wall_mm: Array.from({ length: n }, () => [1, 2, 3, 4]) };
    const rays = wallRays(canal, canalAt(canal, 9));
    expect(rays.map((r) => r.wall_mm)).toEqual([1, 2, 3, 4]);
    // About the tangent -z a right-handed quarter turn takes +x to -y.
    expect(distance(rays[1]?.direction ?? [0, 0, 0], [0, -1, 0])).toBeLessThan(1e-9);
  });
});

describe('steps of risk', () => {
  it('follow the radius classes 4 and 8 mm (Estrela 2008, from memory)', () => {
    expect([1 / 3.9, 1 / 4.1, 1 / 8.1, 1 / 17, 0].map(curveRisk)).toEqual([3, 2, 1, 0, 0]);
  });

  it('call a wall under 0.3 mm too thin (Lim and Stock 1987, from memory)', () => {
    expect([0.29, 0.31, 0.6, 1.2].map(wallRisk)).toEqual([3, 2, 1, 0]);
  });
});
