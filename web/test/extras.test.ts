import { afterEach, describe, expect, it } from 'vitest';
import type { Passage } from '../src/api/documents';
import { extrasOf } from '../src/model/extras';
import { language } from '../src/model/words';

const bare: Passage = {
  canal: 'MB', device: 'a', access: 'axial', reaches_mm: 19, stopped_by: 'foramen', stop_setting_mm: 19, binds: [], peak_strain: 0.02, push_force_N: 0.1,
};
const values = (more: Partial<Passage>): string[] => extrasOf({ ...bare, ...more }).map((e) => `${e.key}: ${e.value.replaceAll('\u202f', ' ')}`);

afterEach(() => (language.value = 'en'));

describe('what is said of some devices only', () => {
  it('is nothing where nothing is known', () => expect(values({})).toEqual([]));

  it('names how to bend a steel file before, and the bend it keeps', () => {
    const file: Partial<Passage> = {
      pre_bend: { bend_to_radius_mm: 4.21, springs_to_radius_mm: 6, set_radius_mm: 9.5, from_tip_mm: [0.5, 4.04] },
      withdrawal: { from_tip_mm: 2, moment_mNm: 1.234, moment_at_half_mNm: 0.4, set_radius_mm: 9.54 },
    };
    expect(values(file)).toEqual(['preBend: round R 4.2 mm, 0.5 to 4.0 mm from the tip', 'withdrawal: 1.23 mN·m in the bend, 0.40 mN·m half way back; keeps R 9.5 mm']);
    language.value = 'de';
    expect(values(file)).toEqual(['preBend: um R 4,2 mm, 0,5 bis 4,0 mm von der Spitze', 'withdrawal: 1,23 mN·m im Bogen, 0,40 mN·m auf halbem Rückweg; behält R 9,5 mm']);
  });

  it('is nothing of what would be shown as nothing', () =>
    expect(values({ withdrawal: { from_tip_mm: 2, moment_mNm: 0.004, moment_at_half_mNm: 0.001 }, fit: { reaches_mm: [20, 20.04] } })).toEqual([]));

  it('says that a superelastic file springs back', () =>
    expect(values({ withdrawal: { from_tip_mm: 2, moment_mNm: 0.5, moment_at_half_mNm: 0.1 } })).toEqual(['withdrawal: 0.50 mN·m in the bend, 0.10 mN·m half way back; springs back whole']));

  it('names where the shape of a cone stops and how hard it holds, with the band of its tolerance', () => {
    const cone: Partial<Passage> = { fit: { reaches_mm: [17.3, 20] }, tug_back: { seated_with_N: 1, force_N: 0.83, range_N: [0.4, 0.9] } };
    expect(values(cone)).toEqual(['fit: 17.3 to 20.0 mm, by its tolerance', 'tugBack: 0.8 N (0.40 to 0.90), seated with 1.0 N']);
    expect(values({ tug_back: { seated_with_N: 1, force_N: 0 } })).toEqual(['tugBack: 0.00 N, seated with 1.0 N']);
  });
});
