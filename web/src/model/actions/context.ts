import type * as client from '../../api/client';
import type { followJob } from '../../api/job';
import { ServerError } from '../../api/client';
import type { State } from '../state';

/** What actions need beside the state: the server. Handed in, so that the model runs without a browser. */
export interface Context {
  state: State;
  server: typeof client & { followJob: typeof followJob };
}

/** The sentence to show for whatever went wrong. */
export function sentenceOf(cause: unknown): string {
  if (cause instanceof ServerError) return cause.sentence;
  return cause instanceof Error ? `The page met an error: ${cause.message}. Load it again.` : 'The page met an error. Load it again.';
}
