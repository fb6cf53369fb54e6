import type { JobEvent } from './documents';

/** Follows a job until it ends. The browser reconnects by itself; the server then sends the latest state first. */
export function followJob(job: string, listen: (event: JobEvent) => void): () => void {
  const source = new EventSource(`api/jobs/${encodeURIComponent(job)}/events`);
  const on = (name: string, read: (data: Record<string, unknown>) => JobEvent, last: boolean): void => {
    source.addEventListener(name, (event) => {
      const data = (event as MessageEvent<string>).data;
      listen(read(data ? (JSON.parse(data) as Record<string, unknown>) : {}));
      if (last) source.close();
    });
  };
  on('progress', (d) => ({ kind: 'progress', fraction: Number(d.fraction), stage: String(d.stage ?? '') }), false);
  on('done', (d) => ({ kind: 'done', caseId: String(d.case) }), true);
  on('failed', (d) => ({ kind: 'failed', sentence: String(d.sentence) }), true);
  on('cancelled', () => ({ kind: 'cancelled' }), true);
  // An ended job closes the stream from both sides; only a break before that is news.
  source.addEventListener('error', () => source.readyState !== EventSource.CLOSED && listen({ kind: 'lost' }));
  return () => source.close();
}
