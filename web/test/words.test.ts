import { readFileSync, readdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { parseAst } from 'vite';
import { afterEach, describe, expect, it } from 'vitest';
import * as format from '../src/model/format';
import { language, languageFor, notation, t, toothName, toothNumber } from '../src/model/words';
import { GERMAN } from '../src/model/words/de';
import { ENGLISH } from '../src/model/words/en';

const SOURCE = resolve(import.meta.dirname, '..', 'src');
const files = readdirSync(SOURCE, { recursive: true, encoding: 'utf8' }).filter((f) => /\.tsx?$/.test(f) && !f.startsWith(join('api', 'types')) && !/words[-\\/]/.test(f));
const texts = files.map((f) => ({ file: f, text: readFileSync(join(SOURCE, f), 'utf8') }));
const source = texts.map((x) => x.text).join('\n');
const keys = Object.keys(ENGLISH);

afterEach(() => {
  language.value = 'en';
  notation.value = 'iso';
});

describe('the language files', () => {
  it('hold every message the source names', () => {
    const named = [...source.matchAll(/\bt\(\s*'([^']+)'/g)].map((m) => m[1] ?? '');
    expect(named.length).toBeGreaterThan(100);
    expect(named.filter((k) => !keys.includes(k))).toEqual([]);
  });

  it('hold a message for every family the source builds keys of', () => {
    const prefixes = [...source.matchAll(/\bt\(\s*`([^`$]+)\$\{/g)].map((m) => m[1] ?? '');
    expect(prefixes.filter((p) => !keys.some((k) => k.startsWith(p)))).toEqual([]);
  });

  it('hold nothing that is never shown', () => {
    const prefixes = [...source.matchAll(/`([a-zA-Z0-9]+(?:\.[a-zA-Z0-9]+)*\.)\$\{/g)].map((m) => m[1] ?? '');
    const unused = keys.filter((k) => !source.includes(`'${k}'`) && !prefixes.some((p) => k.startsWith(p)));
    expect(unused).toEqual([]);
  });

  it('have the same keys in every language, none of them empty', () => {
    expect(Object.keys(GERMAN).sort()).toEqual([...keys].sort());
    expect(Object.entries(GERMAN).filter(([, text]) => text.trim() === '')).toEqual([]);
  });

  it('have the same places for values in every language', () => {
    const places = (text: string): string => [...text.matchAll(/\{(\w+)\}/g)].map((m) => m[1]).sort().join(' ');
    const differ = keys.filter((k) => places(ENGLISH[k as keyof typeof ENGLISH]) !== places(GERMAN[k as keyof typeof GERMAN]));
    expect(differ).toEqual([]);
  });

  it('are translated: few messages read the same in both', () => {
    const same = keys.filter((k) => ENGLISH[k as keyof typeof ENGLISH] === GERMAN[k as keyof typeof GERMAN]);
    expect(same.length / keys.length).toBeLessThan(0.06);
  });

  it('puts values into messages and leaves unknown ones in sight', () => {
    expect(t('at.title', { depth: '16.1 mm', canal: 'MB' })).toBe('At 16.1 mm in MB');
    expect(t('at.title', { depth: '16.1 mm' })).toBe('At 16.1 mm in {canal}');
  });

  it('shows the last part of a key a newer program may send', () => expect(t('stop.some-new-reason')).toBe('some new reason'));

  it('are chosen by what the browser wishes', () => {
    expect(languageFor(['fr-FR', 'de-CH', 'en'])).toBe('de');
    expect(languageFor(['fr'])).toBe('en');
  });
});

/** A node of a syntax tree, as far as this test looks. */
interface Node {
  type: string;
  value?: unknown;
  name?: { name?: string };
  [key: string]: unknown;
}

/** Attributes whose text a person reads or hears. */
const READ = new Set(['title', 'aria-label', 'aria-description', 'aria-valuetext', 'aria-roledescription', 'placeholder', 'alt', 'label', 'text']);
/** Unit symbols are the same in every language (SI brochure, 9th edition, 5.1). */
const UNITS = new Set(['mm', 'mN·m', 'N/mm', 'mm³']);
/** A sentence or a phrase: a word, a blank and another word, with a capital in front. */
const PHRASE = /^\p{Lu}\p{L}+[,:]? \p{L}+/u;

function visibleTexts(node: unknown, found: string[], inside = ''): string[] {
  if (Array.isArray(node)) for (const child of node) visibleTexts(child, found, inside);
  if (typeof node !== 'object' || node === null || Array.isArray(node)) return found;
  const n = node as Node;
  const letters = (text: unknown): boolean => typeof text === 'string' && /\p{L}{2,}/u.test(text) && !UNITS.has(text.trim());
  if (n.type === 'JSXText' && letters(n.value)) found.push(String(n.value).trim());
  const attribute = n.type === 'JSXAttribute' ? String(n.name?.name ?? '') : inside;
  if (n.type === 'Literal' && typeof n.value === 'string') {
    if ((READ.has(attribute) && letters(n.value) && inside !== '') || PHRASE.test(n.value)) found.push(n.value);
  }
  // Below a call inside an attribute stand keys and values, not words.
  const below = n.type === 'CallExpression' || n.type === 'BinaryExpression' ? '' : attribute;
  for (const [key, child] of Object.entries(n)) if (key !== 'name') visibleTexts(child, found, below);
  return found;
}

describe('the source', () => {
  it('has no visible text outside the language files', () => {
    const strays = texts.flatMap(({ file, text }) => visibleTexts(parseAst(text, { lang: file.endsWith('x') ? 'tsx' : 'ts' }), []).map((x) => `${file}: ${x}`));
    expect(strays).toEqual([]);
  });

  it('would be caught if it had some', () => {
    const bad = `const x = <div title="Hello there">Some words {t('a.b')}<i aria-label={y ? 'One' : t('c')} /></div>; throw new Error('The page is gone.');`;
    expect(visibleTexts(parseAst(bad, { lang: 'tsx' }), [])).toEqual(['Hello there', 'Some words', 'One', 'The page is gone.']);
  });
});

describe('numbers', () => {
  it('have a decimal comma in German', () => {
    language.value = 'de';
    expect(format.depth(19.75)).toBe('19,8\u202fmm');
    expect(format.plusMinus(20.1, 0.12, 1, 'mm')).toBe('20,1 ± 0,1\u202fmm');
    expect(format.voxel([0.1, 0.1, 0.125])).toBe('0,1 × 0,1 × 0,125\u202fmm');
    expect(format.fixed(-0.001, 2)).toBe('0,00');
  });

  it('are read with a point or a comma', () => {
    expect(format.typed('19,5')).toBe(19.5);
    expect(format.typed(' 19.5 ')).toBe(19.5);
    expect(format.typed('19,')).toBe(19);
    for (const bad of ['', 'abc', '1,2,3', '19.5 mm']) expect(format.typed(bad)).toBeNull();
  });
});

describe('teeth', () => {
  it('are named by quadrant and place (ISO 3950)', () => {
    expect(toothName('37')).toBe('lower left second molar');
    expect(toothName('11')).toBe('upper right central incisor');
    expect(toothName('')).toBe('');
    expect(toothName('59')).toBe('');
    language.value = 'de';
    expect(toothName('37')).toBe('zweiter Molar unten links');
  });

  it('are numbered 1 to 32 from the upper right round to the lower right (Universal system, from memory)', () => {
    notation.value = 'universal';
    const round = [1, 2, 3, 4].flatMap((q) => Array.from({ length: 8 }, (_, i) => `${q}${q % 2 === 1 ? 8 - i : i + 1}`));
    expect(round.map(toothNumber)).toEqual(Array.from({ length: 32 }, (_, i) => String(i + 1)));
    // Four that are often quoted, from memory: upper right first molar 3, upper left central incisor 9, lower left
    // first molar 19, lower right first molar 30.
    expect(['16', '21', '36', '46'].map(toothNumber)).toEqual(['3', '9', '19', '30']);
    expect(toothNumber('')).toBe('');
  });

  it('keep their ISO 3950 numbers unless asked otherwise', () => expect(toothNumber('37')).toBe('37'));
});
