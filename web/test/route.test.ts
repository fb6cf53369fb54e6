import { describe, expect, it } from 'vitest';
import { formatRoute, parseRoute, type Route } from '../src/model/route';

describe('addresses', () => {
  it('come back as they went', () => {
    const routes: Route[] = [{ page: 'start' }, { page: 'locate', scan: 'a b/ä#1' }, { page: 'work', caseId: 'c-07' }];
    for (const route of routes) expect(parseRoute(formatRoute(route))).toEqual(route);
  });

  it('lead to the start when they mean nothing', () => {
    for (const hash of ['', '#', '#/scan/', '#/else/x', '#/case']) expect(parseRoute(hash)).toEqual({ page: 'start' });
  });

  it('survive a broken escape', () => expect(parseRoute('#/case/%E0%A4%A')).toEqual({ page: 'work', caseId: '%E0%A4%A' }));
});
