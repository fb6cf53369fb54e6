import { describe, expect, it } from 'vitest';
import { tube } from '../src/model/tube';
import type { Vec3 } from '../src/model/vec';

/** Volume enclosed by a triangle mesh, by the divergence theorem; negative when the triangles face inward. */
function volume(mesh: ReturnType<typeof tube>): number {
  let six = 0;
  const p = (i: number): Vec3 => [mesh.positions[3 * i] ?? 0, mesh.positions[3 * i + 1] ?? 0, mesh.positions[3 * i + 2] ?? 0];
  for (let t = 0; t < mesh.indices.length; t += 3) {
    const [a, b, c] = [p(mesh.indices[t] ?? 0), p(mesh.indices[t + 1] ?? 0), p(mesh.indices[t + 2] ?? 0)];
    six += a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0]);
  }
  return six / 6;
}

describe('a tube', () => {
  it('encloses the volume of its prism: n/2 sin(2 pi/n) r^2 L', () => {
    const points: Vec3[] = Array.from({ length: 11 }, (_, i) => [1, 2, -i]);
    const r = 0.3;
    const n = 16;
    const mesh = tube(points, points.map(() => r), n);
    expect(volume(mesh)).toBeCloseTo((n / 2) * Math.sin((2 * Math.PI) / n) * r * r * 10, 5);
  });

  it('round a bend of radius 5 mm keeps the volume that Pappus gives: section area times arc', () => {
    const points: Vec3[] = Array.from({ length: 181 }, (_, i) => {
      const a = (i / 180) * (Math.PI / 2);
      return [5 * (1 - Math.cos(a)), 0, -5 * Math.sin(a)];
    });
    const n = 24;
    const mesh = tube(points, points.map(() => 0.4), n);
    const sectionArea = (n / 2) * Math.sin((2 * Math.PI) / n) * 0.16;
    expect(volume(mesh) / (sectionArea * 5 * (Math.PI / 2))).toBeCloseTo(1, 3);
  });
});
