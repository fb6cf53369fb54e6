import { describe, expect, it } from 'vitest';
import type { Plan, Step } from '../src/api/documents';
import { cuttingSteps, findsTheWayOnly, firstPair, onlyIn, ordersOf, risksOf, sumOf, unusedByReason } from '../src/model/orders';

const step = (device: string, more: Partial<Step> = {}): Step => ({ device, kind: 'rotary-file', action: 'shape', depth_mm: 19, stop_setting_mm: 19, why: '', passage: 0, ...more });
const plan = {
  canals: [
    { canal: 'MB', order: [step('a', { removed_mm3: 0.5, wall_left_mm: 0.9, transport_mm: 0.02 }), step('b', { removed_mm3: 0.25, wall_left_mm: null, transport_mm: 0.05 })], alternatives: [{ kind: 'brief', order: [step('b')], sentence: 'one less' }] },
    { canal: 'D', order: [step('c')] },
  ],
} as unknown as Plan;
const orders = ordersOf(plan);

describe('orders beside each other', () => {
  it('are each canal’s own and its alternatives', () => expect(orders.map((o) => o.key)).toEqual(['MB/planned', 'MB/brief/0', 'D/planned']));

  it('begin with a canal and its alternative, or with two canals where there is none', () => {
    expect(firstPair(orders, 'MB')).toEqual(['MB/planned', 'MB/brief/0']);
    expect(firstPair(orders, 'D')).toEqual(['D/planned', 'MB/planned']);
    expect(firstPair([], 'D')).toEqual(['', '']);
  });

  it('add up what every step tells and leave out what one does not', () => {
    expect(orders[0] && sumOf(orders[0])).toEqual({ instruments: 2, last: 'b', removed_mm3: 0.75, wall_left_mm: 0.9, transport_mm: 0.05 });
    expect(orders[1] && sumOf(orders[1])).toMatchObject({ instruments: 1, removed_mm3: undefined, wall_left_mm: undefined, transport_mm: undefined });
  });

  it('count as cutting what takes something away', () => {
    const canal = { canal: 'M', order: [step('scout', { removed_mm3: 0.0004 }), step('file', { removed_mm3: 0.02 }), step('untold')] } as unknown as Plan['canals'][number];
    expect(cuttingSteps(canal).map(({ step: one, number }) => [number, one.device])).toEqual([[2, 'file']]);
  });

  it('do not take a hand file that only finds the way for a final size', () => {
    const ends = (kind: string, tip_mm: number) => findsTheWayOnly({ order: [step('x', { kind })], final: { tip_mm } } as unknown as Plan['canals'][number]);
    expect(ends('hand-file', 0.1)).toBe(true);
    expect(ends('hand-file', 0.15)).toBe(false);
    expect(ends('rotary-file', 0.1)).toBe(false);
  });

  it('say what only one of them uses', () => {
    const [own, brief] = orders;
    expect(own && brief && [...onlyIn(own, brief)]).toEqual(['a']);
    expect(own && brief && [...onlyIn(brief, own)]).toEqual([]);
  });

  it('put what the canal keeps out before what the drawer does', () => {
    const canal = { canal: 'M', unused: [{ device: 'short', because: 'length', why: '' }, { device: 'stiff', because: 'limit', why: '' }, { device: 'old', why: '' }] } as unknown as Plan['canals'][number];
    expect(unusedByReason(canal).map(({ because, instruments }) => [because, ...instruments.map((u) => u.device)])).toEqual([['limit', 'stiff', 'old'], ['length', 'short']]);
  });

  it('do without what an older plan leaves out', () => {
    expect(plan.canals[1] && risksOf(plan.canals[1])).toBeNull();
    expect(plan.canals[1] && unusedByReason(plan.canals[1])).toEqual([]);
  });
});
