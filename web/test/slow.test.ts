import { signal } from '@preact/signals';
import { describe, expect, it } from 'vitest';
import type { JobEvent } from '../src/api/documents';
import type { Context } from '../src/model/actions/context';
import { type Making, slowly } from '../src/model/actions/slow';

/** A program whose jobs tell what the test lets them tell. */
function desk() {
  const listeners: ((event: JobEvent) => void)[] = [];
  let jobs = 0;
  const server = {
    followJob: (_job: string, listen: (event: JobEvent) => void) => {
      listeners.push(listen);
      return () => undefined;
    },
  } as unknown as Context['server'];
  const making = signal<Making | null>(null);
  const wanted = signal(true);
  const ask = (): Promise<string> => slowly(server, making, async () => `job-${++jobs}`, async () => 'the document', () => wanted.value);
  const tell = async (event: JobEvent): Promise<void> => {
    await new Promise((r) => setTimeout(r, 0));
    listeners.at(-1)?.(event);
  };
  return { ask, tell, making, wanted, jobs: () => jobs };
}

describe('a document that is slow to make', () => {
  it('tells how far it is and is read when it is done', async () => {
    const d = desk();
    const answer = d.ask();
    await d.tell({ kind: 'progress', fraction: 0.4, stage: 'trying' });
    expect(d.making.value).toMatchObject({ job: 'job-1', fraction: 0.4, stage: 'trying', lost: false });
    await d.tell({ kind: 'lost' });
    expect(d.making.value?.lost).toBe(true);
    await d.tell({ kind: 'done', caseId: 'c' });
    expect(await answer).toBe('the document');
    expect(d.making.value).toBeNull();
  });

  it('is asked for again when the program was started anew', async () => {
    const d = desk();
    const answer = d.ask();
    await d.tell({ kind: 'gone' });
    await expect.poll(d.jobs, { timeout: 3000 }).toBe(2);
    await d.tell({ kind: 'done', caseId: 'c' });
    expect(await answer).toBe('the document');
  });

  it('says why it failed or that it was stopped', async () => {
    const failed = desk();
    const first = failed.ask();
    await failed.tell({ kind: 'failed', sentence: 'no canal' });
    await expect(first).rejects.toMatchObject({ sentence: 'no canal' });
    const stopped = desk();
    const second = stopped.ask();
    await stopped.tell({ kind: 'cancelled' });
    await expect(second).rejects.toMatchObject({ code: 'cancelled' });
  });
});
