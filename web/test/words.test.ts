import { readFileSync, readdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { t, toothName } from '../src/model/words';
import { ENGLISH } from '../src/model/words-en';

const SOURCE = resolve(import.meta.dirname, '..', 'src');
const files = readdirSync(SOURCE, { recursive: true, encoding: 'utf8' }).filter((f) => /\.tsx?$/.test(f) && !f.startsWith(join('api', 'types')) && !f.endsWith('words-en.ts'));
const source = files.map((f) => readFileSync(join(SOURCE, f), 'utf8')).join('\n');
const keys = Object.keys(ENGLISH);

describe('the message table', () => {
  it('holds every message the source names', () => {
    const named = [...source.matchAll(/\bt\(\s*'([^']+)'/g)].map((m) => m[1] ?? '');
    expect(named.length).toBeGreaterThan(100);
    expect(named.filter((k) => !keys.includes(k))).toEqual([]);
  });

  it('holds a message for every family the source builds keys of', () => {
    const prefixes = [...source.matchAll(/\bt\(\s*`([^`$]+)\$\{/g)].map((m) => m[1] ?? '');
    expect(prefixes.filter((p) => !keys.some((k) => k.startsWith(p)))).toEqual([]);
  });

  it('holds nothing that is never shown', () => {
    const prefixes = [...source.matchAll(/`([a-zA-Z0-9]+(?:\.[a-zA-Z0-9]+)*\.)\$\{/g)].map((m) => m[1] ?? '');
    const unused = keys.filter((k) => !source.includes(`'${k}'`) && !prefixes.some((p) => k.startsWith(p)));
    expect(unused).toEqual([]);
  });

  it('puts values into messages and leaves unknown ones in sight', () => {
    expect(t('at.title', { depth: '16.1 mm', canal: 'MB' })).toBe('At 16.1 mm in MB');
    expect(t('at.title', { depth: '16.1 mm' })).toBe('At 16.1 mm in {canal}');
  });

  it('shows the last part of a key a newer program may send', () => expect(t('stop.some-new-reason')).toBe('some new reason'));
});

describe('teeth', () => {
  it('are named by quadrant and place (ISO 3950)', () => {
    expect(toothName('37')).toBe('lower left second molar');
    expect(toothName('11')).toBe('upper right central incisor');
    expect(toothName('')).toBe('');
    expect(toothName('59')).toBe('');
  });
});
