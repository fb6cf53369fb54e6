import { type Language, LANGUAGES, type Notation, languageFor } from './words';

export type Theme = 'auto' | 'paper' | 'night';
export const THEMES: readonly Theme[] = ['auto', 'paper', 'night'];
export const NOTATIONS: readonly Notation[] = ['iso', 'universal'];

/** What the chairside view does at a key; a foot pedal is a keyboard that sends one. */
export const PEDALS = ['next', 'undo', 'note'] as const;
export type Pedal = (typeof PEDALS)[number];
/** `KeyboardEvent.key` of each. */
export type PedalKeys = Readonly<Record<Pedal, string>>;

/** What a person has chosen about the page, kept in the browser. */
export interface Settings {
  language: Language;
  notation: Notation;
  theme: Theme;
  keys: PedalKeys;
  /** Whether each step at the chair is spoken. Silence is the rule. */
  spoken: boolean;
  /** Whether the first guide was put aside. */
  guided: boolean;
}

export const DEFAULT_KEYS: PedalKeys = { next: ' ', undo: 'Backspace', note: 'n' };

/** The settings kept as text, each taken only if it is one there is; the rest as a first visit has them. */
export function readSettings(text: string | null, wishes: readonly string[]): Settings {
  const kept = parsed(text);
  const one = <T>(value: unknown, of: readonly T[], otherwise: T): T => of.find((v) => v === value) ?? otherwise;
  const keys = (kept.keys ?? {}) as Partial<Record<Pedal, unknown>>;
  const key = (pedal: Pedal): string => {
    const found = keys[pedal];
    return typeof found === 'string' && found !== '' ? found : DEFAULT_KEYS[pedal];
  };
  return {
    language: one(kept.language, LANGUAGES, languageFor(wishes)),
    notation: one(kept.notation, NOTATIONS, 'iso'),
    theme: one(kept.theme, THEMES, 'auto'),
    keys: { next: key('next'), undo: key('undo'), note: key('note') },
    spoken: kept.spoken === true,
    guided: kept.guided === true,
  };
}

function parsed(text: string | null): Record<string, unknown> {
  try {
    const value: unknown = JSON.parse(text ?? '{}');
    return typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};
  } catch {
    return {};
  }
}

/**
 * The keys with one pedal set anew. The key it had goes to whichever pedal had the new one, so that no key ever means
 * two things.
 */
export function withKey(keys: PedalKeys, pedal: Pedal, key: string): PedalKeys {
  const other = PEDALS.find((p) => p !== pedal && keys[p] === key);
  return { ...keys, ...(other ? { [other]: keys[pedal] } : {}), [pedal]: key };
}
