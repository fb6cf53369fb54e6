import type * as client from '../../api/client';
import type { followJob } from '../../api/job';
import { ServerError } from '../../api/client';
import type { State } from '../state';
import { t } from '../words';

/** What actions need beside the state: the server. Handed in, so that the model runs without a browser. */
export interface Context {
  state: State;
  server: typeof client & { followJob: typeof followJob };
}

/** The sentence to show for whatever went wrong. */
export function sentenceOf(cause: unknown): string {
  if (cause instanceof ServerError) return cause.sentence;
  return t('error.page', { what: cause instanceof Error ? cause.message : String(cause) });
}
