import { describe, expect, it } from 'vitest';
import { curveCells, factorsFor, laneShape, leastLeft, leftCells, niceFactor, pxPerMm, sharpest, spanOf, stripAreas, thinnest, ticks, toDepth, toPx, wallCells, type Scale } from '../src/model/ruler';
import { bentCanal } from './samples';

const scale: Scale = { from_mm: 0, to_mm: 20, left_px: 10, width_px: 400 };

/** y values of an SVG polygon. */
const ys = (points: string): number[] => points.split(' ').map((p) => Number(p.split(',')[1]));

describe('the ruler', () => {
  it('goes from depth to pixels and back', () => {
    expect(toPx(scale, 0)).toBe(10);
    expect(toPx(scale, 20)).toBe(410);
    expect(toDepth(scale, toPx(scale, 13.37))).toBeCloseTo(13.37, 12);
  });

  it('has a tick every half millimetre and labels that do not touch', () => {
    const all = ticks(scale, 30);
    expect(all).toHaveLength(41);
    const labelled = all.filter((t) => t.level === 2).map((t) => t.depth_mm);
    expect(labelled).toEqual([0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20]);
  });

  it('shows what a plan leaves of the wall where there is a bend, in runs', () => {
    const left = { depth_mm: [10, 10.5, 11, 11.5, 12], removed_mm: [0, 0, 0.1, 0.1, 0], wall_mm: [null, 1.2, 0.4, null, 0.9], danger_zone: [false, false, true, false, false] };
    const runs = leftCells(left, scale);
    expect(runs.map((run) => run.map((cell) => [cell.risk, cell.danger]))).toEqual([[[0, false], [2, true]], [[1, false]]]);
    const [first] = runs[0] ?? [];
    expect(first && first.x_px + first.width_px / 2).toBeCloseTo(toPx(scale, 10.5), 9);
    expect(leastLeft(left)).toEqual({ depth_mm: 11, value: 0.4, danger: true });
    expect(leastLeft({ ...left, wall_mm: [null, null, null, null, null] })).toBeNull();
  });

  it('ends beyond the deepest foramen and its uncertainty', () => {
    const canal = bentCanal();
    const { from_mm, to_mm } = spanOf([canal], 'whole');
    expect(from_mm).toBe(0);
    expect(to_mm).toBeGreaterThan(canal.depth_to_foramen_mm + 2 * (canal.depth_sd_mm ?? 0));
    expect(spanOf([canal], 'canals').from_mm).toBe(7);
    expect(spanOf([], 'whole')).toEqual({ from_mm: 0, to_mm: 25 });
  });

  it('draws the canal at its width times the written factor', () => {
    const canal = bentCanal();
    const factors = { canal: 4, wall: 1 };
    const y = ys(laneShape(canal, scale, 50, factors).mean);
    const drawn_px = Math.max(...y) - Math.min(...y);
    expect(drawn_px).toBeCloseTo(0.5 * 4 * pxPerMm(scale), 0);
  });

  it('draws one standard deviation on either side', () => {
    const canal = bentCanal();
    const shape = laneShape(canal, scale, 50, { canal: 4, wall: 1 });
    const height = (points: string): number => Math.max(...ys(points)) - Math.min(...ys(points));
    expect(height(shape.wide) - height(shape.narrow)).toBeCloseTo(2 * 0.02 * 4 * pxPerMm(scale), 0);
  });

  it('leaves out the dentine of a file without walls', () => {
    const canal = bentCanal();
    delete canal.samples.wall_min_mm;
    expect(laneShape(canal, scale, 50, { canal: 1, wall: 1 }).dentineBelow).toBeNull();
    expect(wallCells(canal, scale)).toEqual([]);
  });

  it('takes a factor that fits the room and can be said', () => {
    expect(niceFactor(0.5, 20, 20)).toBe(2);
    expect(niceFactor(0.5, 19.9, 20)).toBe(1.5);
    const factors = factorsFor([bentCanal(), bentCanal('ML')], 60, scale);
    expect(factors.canal * 0.45 * pxPerMm(scale)).toBeLessThanOrEqual(60 * 0.45);
  });

  it('joins neighbouring places of one risk to one area', () => {
    const cells = curveCells(bentCanal(), scale);
    const areas = stripAreas(cells, 20, 12);
    expect(areas.map((a) => a.risk)).toEqual([0, 2]);
    expect(cells.reduce((sum, c) => sum + c.width_px, 0)).toBeCloseTo(bentCanal().length_mm * pxPerMm(scale), 6);
  });

  it('finds the sharpest curve and the thinnest wall, but not where the root ends', () => {
    const canal = bentCanal();
    const end = canal.samples.depth_mm.at(-1) ?? 0;
    expect(thinnest(canal)?.depth_mm).toBeCloseTo(end - 2, 0);
    expect(sharpest(canal)?.value).toBe(0.2);
    delete canal.samples.wall_min_mm;
    expect(thinnest(canal)).toBeNull();
  });
});
