import { type Vec3, add, anyNormal, cross, length, reject, scale, unit } from './vec';
import { tangentAt } from './canal';

/** A triangle mesh as flat arrays, ready for a graphics card; one `tag` per vertex says which ring it is of. */
export interface Mesh {
  positions: Float32Array;
  normals: Float32Array;
  indices: Uint32Array;
  ring: Uint16Array;
}

/**
 * A round tube along points with a radius at each, closed at both ends. The frame is carried along without twist, by
 * removing from each normal its part along the next tangent.
 */
export function tube(points: readonly Vec3[], radii_mm: readonly number[], sides = 16): Mesh {
  const rings = points.length;
  const positions = new Float32Array((rings * sides + 2) * 3);
  const normals = new Float32Array((rings * sides + 2) * 3);
  const ring = new Uint16Array(rings * sides + 2);
  let normal = anyNormal(tangentAt(points, 0));
  points.forEach((p, i) => {
    const tangent = tangentAt(points, i);
    const carried = reject(normal, tangent);
    normal = length(carried) > 1e-6 ? unit(carried) : anyNormal(tangent);
    const binormal = cross(tangent, normal);
    for (let k = 0; k < sides; k++) {
      const a = (2 * Math.PI * k) / sides;
      const out = add(scale(normal, Math.cos(a)), scale(binormal, Math.sin(a)));
      const at = i * sides + k;
      positions.set(add(p, scale(out, radii_mm[i] ?? 0)), at * 3);
      normals.set(out, at * 3);
      ring[at] = i;
    }
  });
  const caps = [rings * sides, rings * sides + 1] as const;
  const [first, last] = [points[0], points[rings - 1]];
  if (first && last) {
    positions.set(first, caps[0] * 3);
    positions.set(last, caps[1] * 3);
    normals.set(scale(tangentAt(points, 0), -1), caps[0] * 3);
    normals.set(tangentAt(points, rings - 1), caps[1] * 3);
    ring[caps[1]] = rings - 1;
  }
  const indices: number[] = [];
  for (let k = 0; k < sides; k++) {
    const n = (k + 1) % sides;
    for (let i = 0; i + 1 < rings; i++) {
      const [a, b, c, d] = [i * sides + k, i * sides + n, (i + 1) * sides + k, (i + 1) * sides + n];
      indices.push(a, b, c, b, d, c);
    }
    const end = (rings - 1) * sides;
    indices.push(caps[0], n, k, caps[1], end + k, end + n);
  }
  return { positions, normals, indices: Uint32Array.from(indices), ring };
}

/** The axis of a device in a canal as the profile of its passage tells it: the canal's line plus the offsets. */
export function deviceAxis(depths_mm: readonly number[], offsets_P: readonly Vec3[], lineAt: (depth_mm: number) => Vec3): Vec3[] {
  return depths_mm.map((d, i) => add(lineAt(d), offsets_P[i] ?? [0, 0, 0]));
}
