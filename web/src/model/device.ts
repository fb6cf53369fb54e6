import type { Device } from '../api/documents';
import { fixed, withUnit } from './format';
import { said } from './said';
import { t } from './words';

/**
 * Colour names of the sizes of root canal instruments, ISO 3630-1 (from memory). Sizes between the standard ones have
 * no colour of their own.
 */
const SIZE_COLOURS: Readonly<Record<number, string>> = {
  6: 'pink', 8: 'grey', 10: 'purple',
  15: 'white', 20: 'yellow', 25: 'red', 30: 'blue', 35: 'green', 40: 'black',
  45: 'white', 50: 'yellow', 55: 'red', 60: 'blue', 70: 'green', 80: 'black',
  90: 'white', 100: 'yellow', 110: 'red', 120: 'blue', 130: 'green', 140: 'black',
};

const FILES: ReadonlySet<string> = new Set(['hand-file', 'rotary-file', 'reciprocating-file', 'cone', 'paper-point']);

/** The standard's colour for the tip size, or null where the standard gives none. */
export function sizeColour(device: Device): string | null {
  if (device.tip_mm === undefined || !FILES.has(device.kind)) return null;
  return SIZE_COLOURS[Math.round(device.tip_mm * 100)] ?? null;
}

/** Diameter at x mm from the tip; beyond the working part the shaft. */
export function diameterAt(device: Device, x_mm: number): number {
  const table = device.diameters_mm;
  if (table) {
    let previous: readonly number[] | undefined;
    for (const row of table) {
      const [x = 0, d = 0] = row;
      if (x >= x_mm) {
        if (!previous) return d;
        const [x0 = 0, d0 = 0] = previous;
        return x > x0 ? d0 + ((d - d0) * (x_mm - x0)) / (x - x0) : d;
      }
      previous = row;
    }
    return previous?.[1] ?? 0;
  }
  const tip = device.tip_mm ?? 0;
  const working = device.working_part_mm ?? device.length_mm;
  if (x_mm > working && device.shaft_mm !== undefined) return device.shaft_mm;
  return tip + (device.taper ?? 0) * Math.min(Math.max(x_mm, 0), working);
}

const size = (mm: number): string => String(Math.round(mm * 100)).padStart(3, '0');
/** Taper as the trade writes it: .04 for 4 %. */
const taper = (value: number): string => (value > 0 ? `/.${String(Math.round(value * 100)).padStart(2, '0')}` : '');

/** Short name for a lane: kind, size and taper; the tray's own name where there is one. */
export function deviceLabel(device: Device): string {
  if (device.name) return said(device.name);
  const kind = t(`kind.${device.kind}`);
  return device.tip_mm === undefined ? `${kind} ${device.id}` : `${kind} ${size(device.tip_mm)} ${taper(device.taper ?? 0)}`.trimEnd();
}

/** The label with the length, which tells pieces on a shelf apart; the tray's own names often hold it. */
export function shelfLabel(device: Device): string {
  const label = deviceLabel(device);
  const long = withUnit(fixed(device.length_mm, Number.isInteger(device.length_mm) ? 0 : 1), 'mm');
  return /\d\s?mm$/.test(label) ? label : `${label} · ${long}`;
}

/** Kinds that are told apart by size and taper; the files among them also come in several lengths. */
const SIZED: ReadonlySet<string> = new Set([...FILES, 'heat-tip', 'coronal-compactor']);
const SEVERAL_LENGTHS: ReadonlySet<string> = new Set(['hand-file', 'rotary-file', 'reciprocating-file']);

/** The shortest name that still tells a device from its neighbours, for the narrow column of a lane. */
export function shortLabel(device: Device): string {
  if (device.kind === 'irrigation-cannula' && device.tip_mm !== undefined) {
    return `${t('kind.short.irrigation-cannula')} ⌀${fixed(device.tip_mm, 2)} · ${Math.round(device.length_mm)}`;
  }
  if (device.tip_mm === undefined || !SIZED.has(device.kind)) return deviceLabel(device);
  const long = SEVERAL_LENGTHS.has(device.kind) ? ` · ${Math.round(device.length_mm)}` : '';
  return `${t(`kind.short.${device.kind}`)} ${size(device.tip_mm)}${taper(device.taper ?? 0)}${long}`;
}

/** Everything of a device a search may match. */
function haystack(device: Device): string {
  const material = typeof device.material === 'string' ? device.material : '';
  return `${device.id} ${deviceLabel(device)} ${device.kind} ${material} ${device.length_mm} mm`.toLowerCase();
}

export interface DeviceFilter {
  text: string;
  kind: string;
  /** Only those whose tip comes at least this deep; null for no such wish. */
  reaches_mm: number | null;
}

/** The devices that match every word of the text, the kind and the depth, in the order of the tray. */
export function filterDevices(devices: readonly Device[], filter: DeviceFilter, reach: (id: string) => number | undefined): Device[] {
  const words = filter.text.toLowerCase().split(/\s+/).filter(Boolean);
  return devices.filter((device) => {
    if (filter.kind !== '' && device.kind !== filter.kind) return false;
    const text = haystack(device);
    if (!words.every((w) => text.includes(w))) return false;
    if (filter.reaches_mm === null) return true;
    const mm = reach(device.id);
    return mm !== undefined && mm >= filter.reaches_mm;
  });
}
