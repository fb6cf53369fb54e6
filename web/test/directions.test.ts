import { describe, expect, it } from 'vitest';
import { type ToothFrame, directionName, edgeNames } from '../src/model/directions';

/** A lower left molar: buccal is the patient's left (+x), mesial is forward (-y). */
const lowerLeft: ToothFrame = { buccal: [1, 0, 0], mesial: [0, -1, 0], upper: false };

describe('directions at a tooth', () => {
  it('have the eight names of the trade, 45 degrees each', () => {
    const names = Array.from({ length: 8 }, (_, i) => {
      const a = (i * Math.PI) / 4;
      return directionName([Math.cos(a), -Math.sin(a), 0], lowerLeft);
    });
    expect(names).toEqual(['B', 'MB', 'M', 'ML', 'L', 'DL', 'D', 'DB']);
  });

  it('say palatal in the upper jaw', () => {
    expect(directionName([-1, 0, 0], { ...lowerLeft, upper: true })).toBe('P');
  });

  it('fall back to the patient without a frame', () => expect(directionName([-1, 0, 0], null)).toBe('R'));

  it('stand opposite one another round a picture', () => {
    expect(edgeNames([1, 0, 0], [0, 1, 0], lowerLeft)).toEqual({ left: 'L', right: 'B', top: 'M', bottom: 'D' });
  });
});
