import { describe, expect, it } from 'vitest';
import { DEFAULT_KEYS, readSettings, withKey } from '../src/model/settings';

describe('settings', () => {
  it('begin as the browser wishes', () => {
    expect(readSettings(null, ['de-AT'])).toMatchObject({ language: 'de', notation: 'iso', theme: 'auto', spoken: false, keys: DEFAULT_KEYS });
  });

  it('survive being kept', () => {
    const changed = { ...readSettings(null, []), notation: 'universal', theme: 'night', spoken: true, keys: withKey(DEFAULT_KEYS, 'next', 'PageDown') };
    expect(readSettings(JSON.stringify(changed), [])).toEqual(changed);
  });

  it('ignore what is damaged or unknown', () => {
    for (const text of ['', 'null', '[]', '{', '{"language":"xx","theme":3,"keys":{"next":""},"spoken":"yes"}']) {
      expect(readSettings(text, [])).toEqual(readSettings(null, []));
    }
  });

  it('never give one key two meanings', () => {
    const keys = withKey(DEFAULT_KEYS, 'undo', DEFAULT_KEYS.next);
    expect(keys.undo).toBe(DEFAULT_KEYS.next);
    expect(keys.next).toBe(DEFAULT_KEYS.undo);
    expect(new Set(Object.values(keys)).size).toBe(3);
  });
});
