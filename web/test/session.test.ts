import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { getCases } from '../src/api/client';
import { lookWho, mustSignIn, session, signIn, signOut } from '../src/model/session';

/** Answers of the program as docs/http-api.md has them, in turn. */
function answers(...list: { status: number; body: unknown }[]): ReturnType<typeof vi.fn> {
  const fetched = vi.fn(() => {
    const next = list.shift();
    if (!next) throw new TypeError('nothing answers');
    return Promise.resolve(new Response(next.status === 204 ? null : JSON.stringify(next.body), { status: next.status }));
  });
  vi.stubGlobal('fetch', fetched);
  return fetched;
}

const refusal = (code: string): unknown => ({ error: { code, what: '', where: '', remedy: '', sentence: 'No.' } });
const open = { accounts: false, account: null, role: null };
const nobody = { accounts: true, account: null, role: null };
const ada = { accounts: true, account: 'ada', role: 'clinician' };

beforeEach(() => {
  session.value = null;
});
afterEach(() => vi.unstubAllGlobals());

describe('who is signed in', () => {
  it('is nobody’s business while there are no accounts', async () => {
    answers({ status: 200, body: open });
    await lookWho();
    expect(mustSignIn.value).toBe(false);
  });

  it('is not asked when the program does not answer', async () => {
    answers();
    await lookWho();
    expect(mustSignIn.value).toBe(false);
  });

  it('is asked, refused, and let in', async () => {
    answers({ status: 200, body: nobody }, { status: 401, body: refusal('wrong_password') }, { status: 429, body: refusal('too_many_tries') }, { status: 200, body: ada });
    await lookWho();
    expect(mustSignIn.value).toBe(true);
    expect(await signIn('ada', 'wrong')).toEqual({ kind: 'wrong' });
    expect(await signIn('ada', 'wrong')).toEqual({ kind: 'wait' });
    expect(await signIn('ada', 'right')).toBeNull();
    expect(session.value).toEqual(ada);
    expect(mustSignIn.value).toBe(false);
  });

  it('is asked again when the session has ended, and after signing out', async () => {
    session.value = ada as typeof session.value;
    answers({ status: 401, body: refusal('sign_in') });
    await expect(getCases()).rejects.toThrow();
    expect(mustSignIn.value).toBe(true);
    session.value = ada as typeof session.value;
    answers({ status: 204, body: null });
    await signOut();
    expect(mustSignIn.value).toBe(true);
  });
});
