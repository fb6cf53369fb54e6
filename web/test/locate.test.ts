import { describe, expect, it } from 'vitest';
import { startWindow, withEnd } from '../src/model/actions/locate';
import { tissueLevels } from '../src/model/survey';

describe('canals the user insists on', () => {
  it('take the orifice first and then the end', () => {
    const one = withEnd([], [1, 2, 3]);
    expect(one).toEqual([{ orifice_P: [1, 2, 3], end_P: null }]);
    const whole = withEnd(one, [1, 2, -9]);
    expect(whole).toEqual([{ orifice_P: [1, 2, 3], end_P: [1, 2, -9] }]);
    expect(withEnd(whole, [5, 5, 5])).toHaveLength(2);
  });
});

describe('the survey of a scan', () => {
  const survey = { tissues: [{ name: 'air', grey: -900 }, { name: 'soft tissue', grey: 60 }, { name: 'dentine or cortical bone', grey: 1500 }, { name: 'enamel', grey: 2600 }], problems: [], verdict: [] };

  it('gives the grey levels it names', () => expect(tissueLevels(survey)).toEqual({ soft: 60, dentine: 1500, enamel: 2600 }));

  it('sets the first grey window, or the whole range without it', () => {
    const whole = { low: -1000, high: 3000 };
    expect(startWindow(whole, undefined)).toEqual(whole);
    expect(startWindow(whole, survey).low).toBe(60);
  });
});
