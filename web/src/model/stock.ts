import { signal } from '@preact/signals';
import * as client from '../api/client';
import type { Device } from '../api/documents';
import { sentenceOf } from './actions/context';
import type { Fetched } from './state';

export interface Lot {
  lot: string;
  /** YYYY-MM-DD, or empty. */
  expires: string;
  pieces: number;
  expired: boolean;
}

/** Where an item of the stock stands. */
export interface StockItem {
  id: string;
  device: Device;
  minimum: number;
  max_uses: number;
  pieces: number;
  ready: number;
  expired: number;
  to_sterilise: number;
  uses_left: number;
  times_used: number;
  overdrawn: number;
  lots: Lot[];
}

export interface StockAnswer {
  items: StockItem[];
  /** Devices that are not in stock yet and may be. */
  addable: Device[];
}

export interface ReorderLine {
  id: string;
  have: number;
  minimum: number;
  coming: number;
  order: number;
}

export const KINDS = ['received', 'sterilised', 'discarded'] as const;
export interface NewMovement {
  item: string;
  kind: (typeof KINDS)[number];
  count: number;
  lot?: string;
  expires?: string;
  note?: string;
}
export type Movement = Required<NewMovement> & { made: string; author: string };

/** What the list shows. */
export const VIEWS = ['all', 'order', 'expiry', 'sterilise'] as const;
export type StockView = (typeof VIEWS)[number];

export const stock = signal<Fetched<StockAnswer>>({ state: 'waiting' });
export const reorder = signal<readonly ReorderLine[]>([]);
export const view = signal<StockView>('all');
export const chosen = signal<string | null>(null);
/** What happened to the chosen item, newest first. */
export const movements = signal<Fetched<readonly Movement[]>>({ state: 'waiting' });
export const busy = signal(false);
export const sentence = signal<string | null>(null);

/** Stock that expires within so many days is worth using first or ordering again (common practice, no source). */
export const SOON_DAYS = 90;

export type Expiry = 'none' | 'good' | 'soon' | 'past';

/** @param today YYYY-MM-DD */
export function expiryOf(expires: string, today: string): Expiry {
  if (expires === '') return 'none';
  const days = (Date.parse(expires) - Date.parse(today)) / 86_400_000;
  return days < 0 ? 'past' : days <= SOON_DAYS ? 'soon' : 'good';
}

/** The worst of an item's lots that have pieces. */
export function itemExpiry(item: StockItem, today: string): Expiry {
  const all = item.lots.filter((lot) => lot.pieces > 0).map((lot) => expiryOf(lot.expires, today));
  return (['past', 'soon', 'good'] as const).find((one) => all.includes(one)) ?? 'none';
}

/** The first date on which a piece expires, or empty. */
export const firstExpiry = (item: StockItem): string => item.lots.filter((lot) => lot.pieces > 0 && lot.expires !== '').map((lot) => lot.expires).sort()[0] ?? '';

/** The items a view shows. */
export function shown(items: readonly StockItem[], lines: readonly ReorderLine[], which: StockView, today: string): StockItem[] {
  if (which === 'order') return items.filter((item) => lines.some((line) => line.id === item.id));
  if (which === 'expiry') {
    return items.filter((item) => ['soon', 'past'].includes(itemExpiry(item, today))).sort((a, b) => firstExpiry(a).localeCompare(firstExpiry(b)));
  }
  if (which === 'sterilise') return items.filter((item) => item.to_sterilise > 0);
  return [...items];
}

/** Today where the practice is. */
export function today(): string {
  const now = new Date();
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

export async function loadStock(): Promise<void> {
  await took(client.getStock);
  if (chosen.value !== null) await loadMovements(chosen.value);
}

/** Takes over an answer of the program with the stock as it is now; what it refuses is said and changes nothing. */
async function took(ask: () => Promise<StockAnswer>): Promise<boolean> {
  busy.value = true;
  sentence.value = null;
  try {
    const value = await ask();
    reorder.value = await client.getReorder();
    stock.value = { state: 'ready', value };
    return true;
  } catch (cause) {
    if (stock.value.state === 'ready') sentence.value = sentenceOf(cause);
    else stock.value = { state: 'failed', sentence: sentenceOf(cause) };
    return false;
  } finally {
    busy.value = false;
  }
}

async function loadMovements(item: string): Promise<void> {
  try {
    const list = await client.getMovements(item);
    if (chosen.value === item) movements.value = { state: 'ready', value: list.reverse() };
  } catch (cause) {
    if (chosen.value === item) movements.value = { state: 'failed', sentence: sentenceOf(cause) };
  }
}

export async function choose(item: string | null): Promise<void> {
  chosen.value = item;
  movements.value = { state: 'waiting' };
  if (item !== null) await loadMovements(item);
}

export async function move(movement: NewMovement): Promise<boolean> {
  const done = await took(() => client.postMovements([movement]));
  if (done) await loadMovements(movement.item);
  return done;
}

/** Adds a device to the stock, or gives an item another limit. */
export async function putItem(device: Device, minimum: number): Promise<boolean> {
  const done = await took(() => client.putItem(device.id, device, minimum));
  if (done && chosen.value !== device.id) await choose(device.id);
  return done;
}

export async function takeCsv(text: string): Promise<void> {
  if ((await took(() => client.sendStockCsv(text))) && chosen.value !== null) await loadMovements(chosen.value);
}
