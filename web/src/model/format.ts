/** Numbers as they are shown: fixed digits, a real minus sign, a thin space and always the unit. */

import { language } from './words';

/** The decimal mark of each language. */
const DECIMAL = { en: '.', de: ',' } as const;
const MINUS = '\u2212';
const NARROW = '\u202f';

export function fixed(value: number, digits: number): string {
  if (!Number.isFinite(value)) return '\u2013';
  const text = Math.abs(value).toFixed(digits).replace('.', DECIMAL[language.value]);
  return value < 0 && Number(Math.abs(value).toFixed(digits)) !== 0 ? MINUS + text : text;
}

export const withUnit = (text: string, unit: string): string => `${text}${NARROW}${unit}`;

/** A depth or length along the ruler: tenths of a millimetre, what a stop can be set to. */
export const depth = (value_mm: number): string => withUnit(fixed(value_mm, 1), 'mm');

/** What the stop on an instrument is set to: quarters of a millimetre, never rounded up. */
export const stopSetting = (value_mm: number): string => withUnit(fixed(Math.floor(value_mm * 100 + 1e-6) / 100, 2), 'mm');

/** A width or a wall: hundredths of a millimetre. */
export const width = (value_mm: number): string => withUnit(fixed(value_mm, 2), 'mm');

/** A standard deviation beside its value. It is never rounded to nothing. */
export function deviation(sd: number, digits: number): string {
  const smallest = 10 ** -digits;
  return `± ${sd < smallest ? `<${NARROW}${fixed(smallest, digits)}` : fixed(sd, digits)}`;
}

/** A value with its standard deviation, both in `unit`. */
export function plusMinus(value: number, sd: number | undefined, digits: number, unit: string): string {
  if (sd === undefined || !(sd > 0)) return withUnit(fixed(value, digits), unit);
  return withUnit(`${fixed(value, digits)} ${deviation(sd, digits)}`, unit);
}

/** Strain as a percentage. */
export const strain = (value: number): string => withUnit(fixed(value * 100, value * 100 < 0.095 ? 2 : 1), '%');

export const force = (value_N: number): string => withUnit(fixed(value_N, value_N < 0.095 ? 2 : 1), 'N');
export const lineForce = (value_N_per_mm: number): string => withUnit(fixed(value_N_per_mm, 2), 'N/mm');
export const torque = (value_mNm: number): string => withUnit(fixed(value_mNm, 2), 'mN·m');
export const percent = (fraction: number): string => withUnit(fixed(fraction * 100, 0), '%');

/** A probability is never called certain. */
export const probability = (p: number): string => (p > 0.994 ? `>${NARROW}${percent(0.99)}` : p < 0.006 ? `<${NARROW}${percent(0.01)}` : percent(p));

/** Radius of a curve; beyond 50 mm the passage is called straight by the caller. */
export const radius = (value_mm: number): string => withUnit(fixed(value_mm, value_mm < 20 ? 1 : 0), 'mm');

/** Two significant digits for counts that are only known roughly. */
export function rough(value: number): string {
  if (!(value > 0)) return '0';
  if (value >= 1e6) return `>${NARROW}1${NARROW}000${NARROW}000`;
  const step = 10 ** Math.max(0, Math.floor(Math.log10(value)) - 1);
  return Math.round(Math.round(value / step) * step)
    .toString()
    .replace(/\B(?=(\d{3})+$)/g, NARROW);
}

/** Edge lengths of a voxel: one number where they are equal, three where they are not. */
export function voxel(spacing_mm: readonly number[]): string {
  const texts = spacing_mm.map((s) => String(Number(s.toFixed(3))).replace('.', DECIMAL[language.value]));
  return withUnit(new Set(texts).size === 1 ? (texts[0] ?? '') : texts.join(' × '), 'mm');
}

/** A plain number such as a factor, with as many digits as it has. */
export const plain = (value: number): string => String(value).replace('.', DECIMAL[language.value]);

/** A number as a person types it, with a point or a comma; null when it is none. */
export function typed(text: string): number | null {
  const clean = text.trim().replace(',', '.').replace(MINUS, '-');
  return /^-?\d+(\.\d*)?$/.test(clean) ? Number(clean) : null;
}

/** Minutes and seconds of a clock. */
export const clock = (seconds: number): string => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, '0')}`;

export const decimalMark = (): string => DECIMAL[language.value];
