import { describe, expect, it } from 'vitest';
import schema from '../../api/case.schema.json';
import { withoutEmpty } from '../src/model/record';
import { ENGLISH } from '../src/model/words/en';

interface Shape {
  enum?: string[];
  properties?: Record<string, Shape>;
  items?: Shape;
}

describe('the form of the record', () => {
  it('stores nothing of a field that was left empty', () => {
    const typed = { patient: { name: 'Invented Person', reference: '' }, tests: [{ test: 'cold', result: '' }, {}], referral: { from: '' }, prognosis: '', recalls: [{ date: '2027-01-31', symptoms: false, periapical_index: 1 }] };
    expect(withoutEmpty(typed)).toEqual({ patient: { name: 'Invented Person' }, tests: [{ test: 'cold' }], recalls: [{ date: '2027-01-31', symptoms: false, periapical_index: 1 }] });
    expect(withoutEmpty({ patient: {} })).toBeUndefined();
  });

  it('has a word for every key and every term of the format', () => {
    const wanted: string[] = [];
    const walk = (shape: Shape): void => {
      for (const one of shape.enum ?? []) wanted.push(`record.is.${one}`);
      for (const [key, inner] of Object.entries(shape.properties ?? {})) {
        wanted.push(`record.${key}`);
        walk(inner);
      }
      if (shape.items) walk(shape.items);
    };
    const chapters = Object.entries(schema.properties as unknown as Record<string, Shape>).filter(([key]) => !['format', 'version', 'tooth'].includes(key));
    walk({ properties: Object.fromEntries(chapters) });
    expect(wanted.length).toBeGreaterThan(100);
    expect(wanted.filter((key) => !(key in ENGLISH))).toEqual([]);
  });
});
