import { describe, expect, it } from 'vitest';
import { type StockItem, expiryOf, firstExpiry, itemExpiry, shown } from '../src/model/stock';

const TODAY = '2026-03-01';
const item = (id: string, lots: StockItem['lots'], more: Partial<StockItem> = {}): StockItem => ({
  id, device: { id, kind: 'hand-file', material: 'stainless-steel', length_mm: 25 }, minimum: 0, max_uses: 8, pieces: 0, ready: 0, expired: 0, to_sterilise: 0, uses_left: 0, times_used: 0, overdrawn: 0, lots, ...more,
});
const lot = (expires: string, pieces = 1): StockItem['lots'][number] => ({ lot: expires, expires, pieces, expired: false });

describe('the stock', () => {
  it('is past its date the day after, and soon to be from ninety days before', () => {
    expect(expiryOf('2026-02-28', TODAY)).toBe('past');
    expect(expiryOf('2026-03-01', TODAY)).toBe('soon');
    // 90 days after 1 March 2026 is 30 May: 30 left in March, 30 in April, 30 in May.
    expect(expiryOf('2026-05-30', TODAY)).toBe('soon');
    expect(expiryOf('2026-05-31', TODAY)).toBe('good');
    expect(expiryOf('', TODAY)).toBe('none');
  });

  it('is as bad as its worst lot that has pieces', () => {
    const one = item('a', [lot('2026-02-01', 0), lot('2027-01-01'), lot('2026-04-01')]);
    expect(itemExpiry(one, TODAY)).toBe('soon');
    expect(firstExpiry(one)).toBe('2026-04-01');
    expect(itemExpiry(item('b', []), TODAY)).toBe('none');
  });

  it('is shown by what is to be done', () => {
    const items = [item('good', [lot('2028-01-01')]), item('soon', [lot('2026-04-01')]), item('past', [lot('2026-01-01')]), item('used', [], { to_sterilise: 2 })];
    const names = (which: Parameters<typeof shown>[2]): string[] => shown(items, [{ id: 'good', have: 1, minimum: 3, coming: 0, order: 2 }], which, TODAY).map((one) => one.id);
    expect(names('all')).toEqual(['good', 'soon', 'past', 'used']);
    expect(names('expiry')).toEqual(['past', 'soon']);
    expect(names('order')).toEqual(['good']);
    expect(names('sterilise')).toEqual(['used']);
  });
});
