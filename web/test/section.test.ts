import { describe, expect, it } from 'vitest';
import { pixelToPatient, sampleAt, sampleBrick, type Brick, type SectionPlane } from '../src/model/brick';
import { dragWindow, tissueWindows } from '../src/model/grey';
import type { GridGeometry } from '../src/model/grid';
import { fittedPlane, gridSections, patientToPixel, stepThrough } from '../src/model/planes';
import { THIN, planeSurface, renderSurface } from '../src/model/surface';
import { dot, type Vec3 } from '../src/model/vec';

const geometry: GridGeometry = { size: [20, 16, 12], spacing_mm: [0.5, 0.5, 0.5], origin_mm: [-5, -4, -3], direction: [1, 0, 0, 0, 1, 0, 0, 0, 1] };

/** Grey value linear in the patient coordinates, which trilinear interpolation must give back exactly. */
const linear = (p: Vec3): number => 100 * p[0] + 10 * p[1] + 1000 * p[2];

function linearBrick(): Brick {
  const [ni, nj, nk] = geometry.size;
  const values = new Int16Array(ni * nj * nk);
  for (let k = 0; k < nk; k++) {
    for (let j = 0; j < nj; j++) {
      for (let i = 0; i < ni; i++) values[i + ni * (j + nj * k)] = linear([-5 + 0.5 * i, -4 + 0.5 * j, -3 + 0.5 * k]);
    }
  }
  return { geometry, values };
}

describe('grey values', () => {
  const brick = linearBrick();

  it('of a linear field come back exactly between voxels, and not at all outside', () => {
    const p: Vec3 = [1.23, -2.2, 0.71];
    expect(sampleAt([brick], p)).toBeCloseTo(linear(p), 6);
    expect(sampleAt([brick], [99, 0, 0])).toBeNaN();
    expect(sampleBrick(brick, 19, 15, 11)).toBe(brick.values.at(-1));
    expect(sampleBrick(brick, 19.01, 0, 0)).toBeNaN();
  });

  it('are windowed from black to white, and clear outside the brick', () => {
    const plane: SectionPlane = { centre_P: [0, 0, 0], right: [1, 0, 0], down: [0, 0, -1], mm_per_px: 0.5 };
    const rgba = new Uint8ClampedArray(4 * 40 * 4);
    renderSurface([brick], planeSurface(plane, 40, 4), THIN, { low: -500, high: 500 }, 40, 4, rgba);
    const inside = pixelToPatient(plane, 40, 4, 22.5, 2.5);
    const at = 4 * (2 * 40 + 22);
    expect(rgba[at]).toBeCloseTo(((linear(inside) + 500) / 1000) * 255, -0.5);
    expect(rgba[at + 3]).toBe(255);
    expect(rgba[4 * 80 + 3]).toBe(0);
  });

  it('come from the first brick that holds the point', () => {
    const coarse: Brick = { geometry: { ...geometry, spacing_mm: [5, 5, 5], origin_mm: [-50, -40, -30] }, values: new Int16Array(20 * 16 * 12).fill(7) };
    expect(sampleAt([brick, coarse], [0, 0, 0])).toBeCloseTo(0, 6);
    expect(sampleAt([brick, coarse], [20, 0, 0])).toBe(7);
  });
});

describe('sections of a grid', () => {
  it('show the patient as usual: right on the left, front on top, head on top', () => {
    const [axial, coronal, sagittal] = gridSections(geometry);
    expect([axial?.right, axial?.down]).toEqual([[1, 0, 0], [0, 1, 0]]);
    expect([coronal?.right, coronal?.down.map((x) => x + 0)]).toEqual([[1, 0, 0], [0, 0, -1]]);
    expect([sagittal?.right, sagittal?.down.map((x) => x + 0)]).toEqual([[0, 1, 0], [0, 0, -1]]);
  });

  it('are named by the patient also when the voxel axes are permuted and flipped', () => {
    // i runs toward the feet, j to the patient's right, k to the back.
    const odd: GridGeometry = { ...geometry, direction: [0, -1, 0, 0, 0, 1, -1, 0, 0] };
    const [axial, coronal, sagittal] = gridSections(odd);
    expect([axial?.axis, coronal?.axis, sagittal?.axis]).toEqual([0, 2, 1]);
    expect(dot(axial?.right ?? [0, 0, 0], [1, 0, 0])).toBeCloseTo(1, 12);
  });

  it('keep the point they go through in the picture at any zoom', () => {
    const section = gridSections(geometry)[0];
    if (!section) throw new Error('no axial section');
    for (const zoom of [1, 3, 8]) {
      const corner: Vec3 = [4.5, 3.5, 2.5];
      const plane = fittedPlane(geometry, section, corner, 200, 160, zoom);
      const at = patientToPixel(plane, section.normal, 200, 160, corner);
      expect(at.away_mm).toBeCloseTo(0, 9);
      expect(at.x).toBeLessThanOrEqual(200);
      expect(at.y).toBeLessThanOrEqual(160);
    }
    expect(stepThrough(geometry, section, [0, 0, 0], 2)[2]).toBeCloseTo(1, 12);
  });
});

describe('the grey window', () => {
  it('widens to the right and brightens upward, and never closes', () => {
    const start = { low: 0, high: 100 };
    expect(dragWindow(start, 60, 0, 1000)).toEqual({ low: -50, high: 150 });
    expect(dragWindow(start, 0, -60, 1000)).toEqual({ low: -100, high: 0 });
    const narrow = dragWindow(start, -10000, 0, 1000);
    expect(narrow.high - narrow.low).toBeCloseTo(5, 9);
  });

  it('is offered by tissue only for levels the survey knows', () => {
    const whole = { low: 0, high: 4000 };
    expect(tissueWindows(whole, {}).map((w) => w.key)).toEqual(['whole']);
    expect(tissueWindows(whole, { soft: 700, dentine: 1900, enamel: 2900 }).map((w) => w.key)).toEqual(['whole', 'canal', 'bone', 'dentine']);
  });
});
