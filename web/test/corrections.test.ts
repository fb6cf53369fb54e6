import { describe, expect, it } from 'vitest';
import type { Edit } from '../src/api/documents';
import { canalAt } from '../src/model/canal';
import { goesOn, goesRound, moveEdit, outlineEdit, sectionEdit, withEdit } from '../src/model/corrections';
import { type Change, History } from '../src/model/history';
import { bentCanal } from './samples';

const at = { ...canalAt(bentCanal(), 10), long_mm: 0.6, short_mm: 0.4, long_axis_deg: 170 };
const numbers = (edit: Edit): number[] => (edit.kind === 'section' ? [edit.diameter_long_mm, edit.diameter_short_mm, edit.long_axis_deg] : []);

describe('an outline drawn with a free hand', () => {
  const arc = (part: number) => Array.from({ length: 40 }, (_, i) => ({ x: 5 + 2 * Math.cos((part * 2 * Math.PI * i) / 39), y: 2 * Math.sin((part * 2 * Math.PI * i) / 39) }));
  it('goes round something from a quarter of a circle on, and not to and fro', () => {
    expect(goesRound(arc(1))).toBe(true);
    expect(goesRound(arc(0.25))).toBe(true);
    expect(goesRound(arc(0.1))).toBe(false);
    expect(goesRound([...arc(0.5), ...arc(0.5).reverse()])).toBe(false);
    expect(goesRound([])).toBe(false);
  });
  it('is thinned out to what the program takes, in order', () => {
    const many = Array.from({ length: 1000 }, (_, i) => [i, 0, 0] as const);
    const edit = outlineEdit('MB', many);
    if (edit?.kind !== 'outline') throw new Error('no outline');
    expect(edit.outline_mm.length).toBeLessThanOrEqual(400);
    expect(edit.outline_mm.map((p) => p[0])).toEqual([...edit.outline_mm.map((p) => p[0])].sort((a, b) => a - b));
    expect(outlineEdit('MB', many.slice(0, 2))).toBeNull();
  });
});

describe('an outline drawn anew', () => {
  it('keeps what the hand left alone', () => {
    expect(numbers(sectionEdit('MB', at, { long_mm: 0.8 }))).toEqual([0.8, 0.4, 170]);
  });

  it('turns its axis by a right angle when the short diameter becomes the longer one', () => {
    expect(numbers(sectionEdit('MB', at, { short_mm: 0.7 }))).toEqual([0.7, 0.6, 80]);
  });

  it('has its axis between 0 and 180 degrees, and a width the program takes', () => {
    expect(numbers(sectionEdit('MB', at, { axis_deg: -30 }))[2]).toBe(150);
    expect(numbers(sectionEdit('MB', at, { axis_deg: 400 }))[2]).toBe(40);
    expect(numbers(sectionEdit('MB', at, { long_mm: 99, short_mm: 0 })).slice(0, 2)).toEqual([5, 0.05]);
  });
});

describe('a list of edits', () => {
  const first = moveEdit('MB', [0, 0, 0], [0.05, 0, 0]);
  const second = moveEdit('MB', [0.05, 0, 0], [0.1, 0, 0]);

  it('takes presses of a key that follow one another as one edit, from where the first began', () => {
    expect(withEdit([first], second, true)).toEqual([moveEdit('MB', [0, 0, 0], [0.1, 0, 0])]);
  });

  it('keeps apart what was done apart, elsewhere or to another canal', () => {
    expect(withEdit([first], second, false)).toHaveLength(2);
    expect(goesOn(first, moveEdit('ML', [0.05, 0, 0], [0.1, 0, 0]))).toBe(false);
    expect(goesOn(first, moveEdit('MB', [0, 0, 3], [0.1, 0, 3]))).toBe(false);
    expect(goesOn(first, sectionEdit('MB', at, {}))).toBe(false);
    expect(goesOn(undefined, first)).toBe(false);
  });
});

describe('what was done in an earlier sitting', () => {
  it('can be taken back and done again like what is done now', () => {
    const told: string[] = [];
    const change = (label: string): Change => ({ label, undo: () => told.push(`undo ${label}`), redo: () => told.push(`redo ${label}`) });
    const history = new History();
    history.restore([change('a'), change('b')], [change('c')]);
    history.redo();
    history.undo();
    history.undo();
    expect(told).toEqual(['redo c', 'undo c', 'undo b']);
    expect(history.last.value?.label).toBe('a');
    history.dropLast();
    expect(history.last.value).toBeNull();
  });
});
