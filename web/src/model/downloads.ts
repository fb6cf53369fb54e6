import { signal } from '@preact/signals';
import { type GotFile, getFile } from '../api/client';
import { sentenceOf } from './actions/context';

/** One file at a time is asked for: some take the program seconds, and a second press would ask again. */
export interface Fetching {
  name: string;
  stop: () => void;
}

export const fetching = signal<Fetching | null>(null);
export const outcome = signal<{ name: string; sentence: string | null } | null>(null);

/** Gets a file of a case and hands it to `take`. @param name what the user reads it is @param keep the case keeps it too */
export async function fetchFile(path: string, name: string, take: (file: GotFile) => void, keep = false): Promise<void> {
  if (fetching.value) return;
  const stop = new AbortController();
  fetching.value = { name, stop: () => stop.abort() };
  outcome.value = null;
  try {
    take(await getFile(path, stop.signal, keep));
    outcome.value = { name, sentence: null };
  } catch (cause) {
    if (!stop.signal.aborted) outcome.value = { name, sentence: sentenceOf(cause) };
  } finally {
    fetching.value = null;
  }
}

export interface ModelWish {
  body: 'tooth' | 'block';
  scale: number;
}

/** Where a file of a case is had. */
export const fileAddress = (caseId: string, file: string, query: Readonly<Record<string, string | number>> = {}): string => {
  const search = new URLSearchParams(Object.entries(query).map(([key, value]) => [key, String(value)])).toString();
  return `api/cases/${encodeURIComponent(caseId)}/${file}${search === '' ? '' : `?${search}`}`;
};
