import { ENGLISH } from './words-en';

export type Message = keyof typeof ENGLISH;
type Table = Readonly<Record<Message, string>>;

/** The table in use. Another language is another table with the same keys; the compiler holds them complete. */
const table: Table = ENGLISH;

/** The message of a key with `{name}` replaced; an unknown key (from a newer program) is shown as its last part. */
export function t(key: Message | (string & {}), values: Readonly<Record<string, string | number>> = {}): string {
  const text = (table as Readonly<Record<string, string | undefined>>)[key] ?? key.slice(key.lastIndexOf('.') + 1).replace(/-/g, ' ');
  return text.replace(/\{(\w+)\}/g, (whole, name: string) => String(values[name] ?? whole));
}

/** Name of a tooth by its ISO 3950 number, such as "lower left first molar"; empty for an unknown number. */
export function toothName(fdi: string): string {
  const quadrant = fdi.charAt(0);
  const place = fdi.charAt(1);
  if (!/^[1-4][1-8]$/.test(fdi)) return '';
  return t('tooth.name', { quadrant: t(`quadrant.${quadrant}`), place: t(`place.${place}`) });
}
