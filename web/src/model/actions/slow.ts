import type { Signal } from '@preact/signals';
import { ServerError } from '../../api/client';
import { t } from '../words';
import type { Context } from './context';

/** A document that is being made by the program. */
export interface Making {
  job: string;
  fraction: number;
  stage: string;
  /** The connection broke; the browser tries again by itself. */
  lost: boolean;
  cancelling: boolean;
}

/** Asked anew this long after the program was found to have forgotten a job, until it answers. */
const AGAIN_MS = 1000;

/**
 * Has a document made as a job and reads it when it is done; `making` tells how far it is. If the program was started
 * anew meanwhile, it is asked again. Rejects when the job fails, is cancelled or no longer wanted.
 */
export async function slowly<T>(server: Context['server'], making: Signal<Making | null>, begin: () => Promise<string>, read: () => Promise<T>, wanted: () => boolean): Promise<T> {
  let restarts = 0;
  while (wanted()) {
    const end = await follow(server, making, await begin(), wanted);
    if (end === 'done') return read();
    if (end === 'cancelled') throw new ServerError(409, 'cancelled', t('making.cancelled'));
    if (end !== 'gone') throw new ServerError(422, 'failed', end.sentence);
    if (++restarts > 30) throw new ServerError(0, 'gone', t('locate.jobGone'));
    await new Promise((later) => setTimeout(later, AGAIN_MS));
  }
  throw new ServerError(0, 'unwanted', t('making.cancelled'));
}

type End = 'done' | 'cancelled' | 'gone' | { sentence: string };

function follow(server: Context['server'], making: Signal<Making | null>, job: string, wanted: () => boolean): Promise<End> {
  making.value = { job, fraction: 0, stage: '', lost: false, cancelling: false };
  return new Promise((resolve) => {
    const stop = server.followJob(job, (event) => {
      const now = making.value;
      const ends = (end: End): void => {
        if (making.value?.job === job) making.value = null;
        stop();
        resolve(end);
      };
      if (!wanted()) ends('cancelled');
      else if (event.kind === 'progress') making.value = now && { ...now, fraction: event.fraction, stage: event.stage, lost: false };
      else if (event.kind === 'lost') making.value = now && { ...now, lost: true };
      else if (event.kind === 'failed') ends({ sentence: event.sentence });
      else ends(event.kind);
    });
  });
}

/** Asks the program to stop making a document. */
export async function stopMaking(server: Context['server'], making: Signal<Making | null>): Promise<void> {
  const now = making.value;
  if (!now) return;
  making.value = { ...now, cancelling: true };
  await server.cancelJob(now.job).catch(() => undefined);
}
