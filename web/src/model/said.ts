import { PLAN_GERMAN } from './plan-words-de';
import { RECORD_GERMAN } from './record-words-de';
import { REFUSAL_GERMAN } from './refusal-words-de';
import { SCAN_GERMAN } from './scan-words-de';
import { language } from './words';

/**
 * The program writes its sentences in English. Another language is a list of pairs of such a sentence and what it becomes;
 * `{1}` stands for what changes from case to case, `{d1}` for any name;
 * a pair with `~` may follow the name of a device, one with `!` a place and a colon. A sentence, or a clause after a semicolon, that no pair fits
 * leaves the whole text in English: a caution must never be lost for want of its translation.
 */
export type Pairs = readonly (readonly [from: string, into: string])[];

interface Rule {
  pattern: RegExp;
  /** Number of each place in the order it stands in the English; those of `{d1}` may hold any name. */
  places: readonly { key: string; free: boolean }[];
  into: string;
}

const LANGUAGES: Readonly<Record<string, Pairs>> = { de: [...REFUSAL_GERMAN, ...RECORD_GERMAN, ...PLAN_GERMAN, ...SCAN_GERMAN] };
const compiled = new Map<string, { rules: readonly Rule[]; known: Map<string, string | null> }>();

/** What is said of a device stands alone or after its name, what is refused alone or after its place. */
const AFTER: Readonly<Record<string, string>> = { '~': '{d0} ', '!': '{d0}: ' };

function rulesOf(pairs: Pairs): Rule[] {
  return pairs.flatMap(([from, into]) => {
    const after = AFTER[from.charAt(0)];
    if (after) return rulesOf([[from.slice(1), into.slice(1)], [after + from.slice(1), after + into.slice(1)]]);
    const places = [...from.matchAll(/\{(d?)(\d)\}/g)].map((m) => ({ key: m[0], free: m[1] === 'd' }));
    const source = from.replace(/[.*+?^$()|[\]\\/]/g, '\\$&').replace(/\{(d?)\d\}/g, (_, free: string) => (free ? '((?:(?!\\. |; ).)+)' : '(.+?)'));
    return { pattern: new RegExp(`^${source}$`, 'u'), places, into };
  });
}

/** Numbers with their units, ranges of them, and names of canals and directions: the same in every language but for the decimal mark. */
const FIGURE = /^(?:[\d.±−-]+|mm³?|%|N|G|\(|\)|\/[.\d]+|[\d]+\/\.\d+|(?:\p{Lu}{1,3}\d{0,2}))(?:\s*(?:[\d.±−-]+|mm³?|%|N|G))*$/u;
const withComma = (text: string): string => text.replace(/(\d)\.(\d)/g, '$1,$2');

function translated(text: string, rules: readonly Rule[]): string | null {
  if (FIGURE.test(text)) return withComma(text);
  const stop = text.endsWith('.') ? '.' : '';
  const bare = stop === '' ? text : text.slice(0, -1);
  for (const rule of rules) {
    const found = rule.pattern.exec(bare);
    if (!found) continue;
    const values = rule.places.map(({ free }, i) => translated(found[i + 1] ?? '', rules) ?? (free ? (found[i + 1] ?? '') : null));
    if (values.includes(null)) continue;
    return rule.places.reduce((into, { key }, i) => into.replace(key, () => values[i] ?? ''), rule.into) + stop;
  }
  return inParts(text, /(?<=[.!?]) (?=\p{Lu})/u, ' ', rules) ?? inParts(text, /; /, '; ', rules);
}

function inParts(text: string, at: RegExp, joint: string, rules: readonly Rule[]): string | null {
  const parts = text.split(at);
  if (parts.length < 2) return null;
  const all = parts.map((part) => translated(part, rules));
  return all.includes(null) ? null : all.join(joint);
}

/** A sentence of the program in a language; null when it has none there. */
export function saidIn(wanted: string, text: string): string | null {
  const pairs = LANGUAGES[wanted];
  if (!pairs || text === '') return text;
  let language = compiled.get(wanted);
  if (!language) compiled.set(wanted, (language = { rules: rulesOf(pairs), known: new Map() }));
  let found = language.known.get(text);
  if (found === undefined) language.known.set(text, (found = translated(text, language.rules)));
  return found;
}

/** What was just clicked need not be named to the reader of the page. */
const CLICKED = /^the (?:point|canal|reference): /;

/** A sentence of the program in the language of the page. */
export function said(text: string): string {
  const bare = text.replace(CLICKED, '');
  const words = saidIn(language.value, bare) ?? bare;
  return bare === text ? words : words.charAt(0).toUpperCase() + words.slice(1);
}
