import { describe, expect, it } from 'vitest';
import { deviceLabel, diameterAt, filterDevices, shortLabel, sizeColour } from '../src/model/device';
import { profileAt, rowOfPassage, rowsOfPlan, wantedOf } from '../src/model/lanes';
import type { Plan } from '../src/api/documents';
import { device } from './samples';

describe('a device', () => {
  it('of size 25 and taper 0.02 is 0.25, 0.27, 0.31 and 0.57 mm wide at 0, 1, 3 and 16 mm (ISO 3630-1, from memory)', () => {
    const d = device('x');
    expect([0, 1, 3, 16].map((x) => Number(diameterAt(d, x).toFixed(3)))).toEqual([0.25, 0.27, 0.31, 0.57]);
    expect(diameterAt(d, 20)).toBeCloseTo(0.57, 12);
    expect(diameterAt(device('y', { shaft_mm: 0.9 }), 20)).toBe(0.9);
  });

  it('with a table of diameters follows the table', () => {
    const d = device('t', { diameters_mm: [[0, 0.2], [10, 0.6], [25, 0.6]] });
    expect(diameterAt(d, 5)).toBeCloseTo(0.4, 12);
    expect(diameterAt(d, 30)).toBe(0.6);
  });

  it('carries the colour of its size, and none between the standard sizes (ISO 3630-1, from memory)', () => {
    const colours = [0.06, 0.08, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4].map((tip_mm) => sizeColour(device('x', { tip_mm })));
    expect(colours).toEqual(['pink', 'grey', 'purple', 'white', 'yellow', 'red', 'blue', 'green', 'black']);
    expect(sizeColour(device('x', { tip_mm: 0.17 }))).toBeNull();
    expect(sizeColour(device('x', { kind: 'plugger' }))).toBeNull();
  });

  it('is named by kind, size and taper unless the tray names it', () => {
    expect(deviceLabel(device('x'))).toBe('hand file 025 /.02');
    expect(deviceLabel(device('x', { name: 'Scout' }))).toBe('Scout');
    expect(shortLabel(device('x', { name: 'Hand file 025/.02, 25 mm' }))).toBe('hand 025/.02 · 25');
    expect(shortLabel(device('x', { kind: 'plugger', name: 'Steel plugger 040' }))).toBe('Steel plugger 040');
  });

  it('is found by every word, its kind and how deep it comes', () => {
    const list = [device('a', { tip_mm: 0.1 }), device('b', { kind: 'rotary-file', taper: 0.04, material: 'niti-martensitic' }), device('c', { kind: 'cone', material: 'gutta-percha' })];
    const reach = (id: string): number | undefined => ({ a: 20, b: 18.5 })[id];
    const find = (text: string, kind = '', reaches_mm: number | null = null): string[] => filterDevices(list, { text, kind, reaches_mm }, reach).map((d) => d.id);
    expect(find('')).toEqual(['a', 'b', 'c']);
    expect(find('rotary 025')).toEqual(['b']);
    expect(find('niti')).toEqual(['b']);
    expect(find('', 'cone')).toEqual(['c']);
    expect(find('', '', 19)).toEqual(['a']);
  });
});

describe('the lanes of a plan', () => {
  const passage = (d: string, canal_state: 'native' | 'during' | 'shaped') => ({ canal: 'MB', device: d, canal_state, reaches_mm: 19 });
  const plan = {
    passages: [passage('a', 'native'), passage('b', 'during'), passage('c', 'shaped'), passage('d', 'shaped')],
    canals: [{ canal: 'MB', order: [{ passage: 0 }, { passage: 1 }, { passage: 0 }], passive: [{ passage: 3, chosen: false, job: 'rinse' }, { passage: 2, chosen: true, job: 'rinse' }, { passage: 3, chosen: true, job: 'dry' }] }],
  } as unknown as Plan;

  it('begin with its steps in order, then what it chose, each once', () => {
    expect(rowsOfPlan(plan).map((r) => [r.device, r.planPassage])).toEqual([['a', null], ['b', 1], ['c', 2]]);
  });

  it('take a passage in the canal as it is for the bar of the device itself', () => {
    expect(rowOfPassage(plan, 0)?.id).toBe('MB/a');
    expect(rowOfPassage(plan, 9)).toBeNull();
  });

  it('tell what the plan wants of a passage from what would stop the device', () => {
    const wanting = {
      passages: [],
      canals: [{ working_depth_mm: 20.77, order: [{ passage: 0, depth_mm: 20.77, stop_setting_mm: 20.75 }, { passage: 1, depth_mm: 14, stop_setting_mm: 14 }], passive: [{ passage: 2, reaches_mm: 17.2, stop_setting_mm: 17 }] }],
    } as unknown as Plan;
    expect(wantedOf(wanting, 0)).toEqual({ depth_mm: 20.77, stop_setting_mm: 20.75, held: true });
    expect(wantedOf(wanting, 1)?.held).toBe(false);
    expect(wantedOf(wanting, 2)).toEqual({ depth_mm: 17.2, stop_setting_mm: 17, held: false });
    expect(wantedOf(wanting, 3)).toBeUndefined();
  });

  it('read a profile only where the device is', () => {
    const withProfile = { profile: { depth_mm: [10, 10.1], offset_mm: [[0, 0, 0], [0.1, 0, 0]], strain: [0.01, 0.02], contact_N_per_mm: [0, 1], contact_toward: [[0, 0, 0], [1, 0, 0]] } };
    const p = withProfile as unknown as Plan['passages'][number];
    expect(profileAt(p, 10.09)?.strain).toBe(0.02);
    expect(profileAt(p, 12)).toBeUndefined();
    expect(profileAt(undefined, 10)).toBeUndefined();
  });
});
