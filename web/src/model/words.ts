import { signal } from '@preact/signals';
import { GERMAN } from './words/de';
import { ENGLISH } from './words/en';

export type Message = keyof typeof ENGLISH;
/** What a language file is: every key of the English one, no other. */
export type Table = Readonly<Record<Message, string>>;

const TABLES = { en: ENGLISH, de: GERMAN } as const satisfies Record<string, Table>;
export type Language = keyof typeof TABLES;
export const LANGUAGES = Object.keys(TABLES) as Language[];

/** How teeth are numbered on screen; inside the program it is always ISO 3950. */
export type Notation = 'iso' | 'universal';

/**
 * Language and notation in use. Signals of this module rather than of the state, because every picture reads them:
 * whatever calls `t` or a number format is drawn anew when they change. Only the store sets them.
 */
export const language = signal<Language>('en');
export const notation = signal<Notation>('iso');

/** The language file that fits a browser's wish best. */
export function languageFor(wishes: readonly string[]): Language {
  for (const wish of wishes) {
    const found = LANGUAGES.find((l) => wish.toLowerCase().split('-')[0] === l);
    if (found) return found;
  }
  return 'en';
}

/** The message of a key with `{name}` replaced; an unknown key (from a newer program) is shown as its last part. */
export function t(key: Message | (string & {}), values: Readonly<Record<string, string | number>> = {}): string {
  const table = TABLES[language.value] as Readonly<Record<string, string | undefined>>;
  const text = table[key] ?? key.slice(key.lastIndexOf('.') + 1).replace(/-/g, ' ');
  return text.replace(/\{(\w+)\}/g, (whole, name: string) => String(values[name] ?? whole));
}

/** Name of a tooth by its ISO 3950 number, such as "lower left first molar"; empty for an unknown number. */
export function toothName(fdi: string): string {
  const quadrant = fdi.charAt(0);
  const place = fdi.charAt(1);
  if (!/^[1-4][1-8]$/.test(fdi)) return '';
  return t('tooth.name', { quadrant: t(`quadrant.${quadrant}`), place: t(`place.${place}`) });
}

/**
 * The number of a permanent tooth in the notation in use. ISO 3950 counts from the midline in each quadrant; the
 * Universal system counts 1 to 32 from the upper right third molar round to the lower right one (ISO 3950:2016 and the
 * American Dental Association's system, from memory). A number that is not of a permanent tooth is shown as it is.
 */
export function toothNumber(fdi: string): string {
  if (notation.value === 'iso' || !/^[1-4][1-8]$/.test(fdi)) return fdi;
  const place = Number(fdi.charAt(1));
  const universal = { 1: 9 - place, 2: 8 + place, 3: 25 - place, 4: 24 + place }[fdi.charAt(0)];
  return String(universal);
}
