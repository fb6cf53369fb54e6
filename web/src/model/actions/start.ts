import { ServerError } from '../../api/client';
import type { Scan, ScanSource } from '../../api/documents';
import { t } from '../words';
import { type Context, sentenceOf } from './context';

/** Fetches the lists of the first page. */
export async function loadStart({ state, server }: Context): Promise<void> {
  const { scans, cases } = state.start;
  await Promise.all([
    server.getScans().then(
      (value) => (scans.value = { state: 'ready', value }),
      (cause) => (scans.value = { state: 'failed', sentence: sentenceOf(cause) }),
    ),
    server.getCases().then(
      (value) => (cases.value = { state: 'ready', value }),
      (cause) => (cases.value = { state: 'failed', sentence: sentenceOf(cause) }),
    ),
  ]);
}

/** Opens a scan; with several series in one place the user is asked which. Returns the scan's id. */
export function openScan(context: Context, source: ScanSource, series_uid?: string): Promise<string | null> {
  return arriving(context, t('start.opening'), source, () => context.server.openScan(source, series_uid));
}

/** Sends one file to the server. Returns the scan's id. */
export async function upload(context: Context, files: readonly File[]): Promise<string | null> {
  const [file] = files;
  if (!file || files.length > 1) {
    context.state.start.sentence.value = t('start.oneFile');
    return null;
  }
  return arriving(context, t('start.uploading', { name: file.name }), null, () => context.server.uploadScan(file));
}

/** Takes in the archive of a case. Returns the case's id. */
export const takeArchive = (context: Context, file: File): Promise<string | null> =>
  arriving(context, t('start.uploading', { name: file.name }), null, async () => ({ id: await context.server.sendArchive(file) }));

/** Runs one way of getting a scan, and keeps what the user must read or choose when it does not come. */
async function arriving({ state }: Context, doing: string, source: ScanSource | null, get: () => Promise<Pick<Scan, 'id'>>): Promise<string | null> {
  const { start } = state;
  start.sentence.value = null;
  start.candidates.value = null;
  start.busy.value = doing;
  try {
    return (await get()).id;
  } catch (cause) {
    const choose = cause instanceof ServerError && cause.candidates.length > 0 ? cause : null;
    const from = choose?.upload ? { upload: choose.upload } : source;
    if (choose && from) start.candidates.value = { source: from, series: choose.candidates };
    else start.sentence.value = sentenceOf(cause);
    return null;
  } finally {
    start.busy.value = null;
  }
}
