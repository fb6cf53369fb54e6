import { describe, expect, it } from 'vitest';
import { clampToGrid, directionLetter, patientToVoxel, stepWithin, voxelToPatient, type GridGeometry } from '../src/model/grid';
import { distance, type Vec3 } from '../src/model/vec';

/** A grid turned by 30 degrees about z, as a tilted head gives. */
const c = Math.cos(Math.PI / 6);
const s = Math.sin(Math.PI / 6);
const tilted: GridGeometry = {
  size: [40, 30, 20],
  spacing_mm: [0.1, 0.2, 0.4],
  origin_mm: [5, -7, 11],
  direction: [c, -s, 0, s, c, 0, 0, 0, 1],
};

describe('voxel grids', () => {
  it('follow the columns of the direction matrix, as DICOM PS3.3 C.7.6.2.1.1 maps indices to LPS', () => {
    const p = voxelToPatient(tilted, [10, 0, 0]);
    expect(p[0]).toBeCloseTo(5 + c, 12);
    expect(p[1]).toBeCloseTo(-7 + s, 12);
    expect(p[2]).toBeCloseTo(11, 12);
  });

  it('go to the patient frame and back', () => {
    const v: Vec3 = [3.25, 17.5, 9.75];
    expect(distance(patientToVoxel(tilted, voxelToPatient(tilted, v)), v)).toBeLessThan(1e-12);
  });

  it('keep a point that is inside and pull back one that is outside', () => {
    const inside = voxelToPatient(tilted, [10, 10, 10]);
    expect(distance(clampToGrid(tilted, inside), inside)).toBeLessThan(1e-12);
    const pulled = patientToVoxel(tilted, clampToGrid(tilted, [1e6, 1e6, 1e6]));
    expect(pulled[2]).toBeCloseTo(19, 9);
    expect(pulled[0]).toBeLessThanOrEqual(39 + 1e-9);
  });

  it('thin out just enough to stay within the limit', () => {
    expect(stepWithin([100, 100, 100], 1_000_000)).toBe(1);
    expect(stepWithin([101, 100, 100], 1_000_000)).toBe(2);
    expect(stepWithin([400, 400, 400], 8_000_000)).toBe(2);
  });

  it('name patient directions by the largest LPS component', () => {
    expect(directionLetter([0.9, 0.1, 0])).toBe('L');
    expect(directionLetter([-0.9, 0.1, 0])).toBe('R');
    expect(directionLetter([0, -1, 0.2])).toBe('A');
    expect(directionLetter([0, 0.1, -1])).toBe('I');
  });
});
