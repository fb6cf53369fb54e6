import { describe, expect, it } from 'vitest';
import { ServerError } from '../src/api/client';
import type { Context } from '../src/model/actions/context';
import { openScan, upload } from '../src/model/actions/start';
import { createState } from '../src/model/state';

const series = [
  { series_uid: '1', description: 'a', slices: 200 },
  { series_uid: '2', description: 'b', slices: 3 },
];

function desk(reply: () => Promise<{ id: string }>) {
  const state = createState();
  const context = { state, server: { openScan: reply, uploadScan: reply } } as unknown as Context;
  return { state, context };
}

describe('opening a scan', () => {
  it('gives its id', async () => {
    const { state, context } = desk(() => Promise.resolve({ id: 's7' }));
    expect(await openScan(context, { path: '/x' })).toBe('s7');
    expect(state.start.busy.value).toBeNull();
  });

  it('keeps the sentence of the server when it fails', async () => {
    const { state, context } = desk(() => Promise.reject(new ServerError(404, 'not_found', 'There is nothing at /x; give a folder.')));
    expect(await openScan(context, { path: '/x' })).toBeNull();
    expect(state.start.sentence.value).toBe('There is nothing at /x; give a folder.');
  });

  it('asks which series when there are several, of a path or of a file that was sent', async () => {
    const path = desk(() => Promise.reject(new ServerError(409, 'bad_input', 'several', series)));
    await openScan(path.context, { path: '/x' });
    expect(path.state.start.candidates.value).toEqual({ source: { path: '/x' }, series });

    const sent = desk(() => Promise.reject(new ServerError(409, 'bad_input', 'several', series, 'u1')));
    await upload(sent.context, [{ name: 'a.zip' } as File]);
    expect(sent.state.start.candidates.value).toEqual({ source: { upload: 'u1' }, series });
  });

  it('takes one file at a time', async () => {
    const { state, context } = desk(() => Promise.resolve({ id: 's7' }));
    expect(await upload(context, [{ name: 'a' }, { name: 'b' }] as File[])).toBeNull();
    expect(state.start.sentence.value).toMatch(/one file/i);
  });
});
