import { ServerError } from '../../api/client';
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

/** Opens a scan by its path; with several series in one place the user is asked which. Returns the scan's id. */
export async function openPath(context: Context, path: string, series_uid?: string): Promise<string | null> {
  const { start } = context.state;
  start.sentence.value = null;
  start.candidates.value = null;
  start.busy.value = t('start.opening');
  try {
    return (await context.server.openScan(path, series_uid)).id;
  } catch (cause) {
    if (cause instanceof ServerError && cause.candidates.length > 0) {
      start.candidates.value = { path, series: cause.candidates };
    } else {
      start.sentence.value = sentenceOf(cause);
    }
    return null;
  } finally {
    start.busy.value = null;
  }
}

/** Sends one file to the server. Returns the scan's id. */
export async function upload(context: Context, files: readonly File[]): Promise<string | null> {
  const { start } = context.state;
  start.sentence.value = null;
  start.candidates.value = null;
  const [file] = files;
  if (!file || files.length > 1) {
    start.sentence.value = t('start.oneFile');
    return null;
  }
  start.busy.value = t('start.uploading', { name: file.name });
  try {
    return (await context.server.uploadScan(file)).id;
  } catch (cause) {
    start.sentence.value = sentenceOf(cause);
    return null;
  } finally {
    start.busy.value = null;
  }
}
