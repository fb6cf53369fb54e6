import type { JobEvent } from './documents';

/** Follows a job until it ends. The browser reconnects by itself; the server then sends the latest state first. */
export function followJob(job: string, listen: (event: JobEvent) => void): () => void {
  let ended = false;
  const source = new EventSource(`api/jobs/${encodeURIComponent(job)}/events`);
  const on = (name: string, read: (data: Record<string, unknown>) => JobEvent, last: boolean): void => {
    source.addEventListener(name, (event) => {
      const data = (event as MessageEvent<string>).data;
      listen(read(data ? (JSON.parse(data) as Record<string, unknown>) : {}));
      if (!last) return;
      ended = true;
      source.close();
    });
  };
  on('progress', (d) => ({ kind: 'progress', fraction: Number(d.fraction), stage: String(d.stage ?? '') }), false);
  on('done', (d) => ({ kind: 'done', caseId: String(d.case) }), true);
  on('failed', (d) => ({ kind: 'failed', sentence: String(d.sentence) }), true);
  on('cancelled', () => ({ kind: 'cancelled' }), true);
  source.addEventListener('error', () => {
    if (ended) return;
    // A closed source was refused: the program is there again and does not know the job any more.
    listen(source.readyState === EventSource.CLOSED ? { kind: 'gone' } : { kind: 'lost' });
  });
  return () => source.close();
}
