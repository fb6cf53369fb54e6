import { computed, signal } from '@preact/signals';
import { ServerError, changed, whenSignedOut } from '../api/client';
import { t } from './words';

/** Who is signed in. A record without accounts needs nobody to. */
export interface Session {
  accounts: boolean;
  account: string | null;
  role: 'reader' | 'assistant' | 'clinician' | null;
}

export const session = signal<Session | null>(null);
export const ROLES = ['reader', 'assistant', 'clinician'] as const;
/** Whether who sits here may do what takes that role; without accounts everybody may. The program decides, this only says it early. */
export function may(least: (typeof ROLES)[number]): boolean {
  const now = session.value;
  return !now?.accounts || (now.role !== null && ROLES.indexOf(now.role) >= ROLES.indexOf(least));
}

export const mustSignIn = computed(() => session.value?.accounts === true && session.value.account === null);

whenSignedOut(() => {
  session.value = { accounts: true, account: null, role: null };
});

const ANSWER_WITHIN_MS = 1500;

/** When the program does not answer nobody is asked for a password: at the chair the page goes on without it. */
export async function lookWho(): Promise<void> {
  try {
    const reply = await fetch('api/session', { signal: AbortSignal.timeout(ANSWER_WITHIN_MS) });
    session.value = reply.ok ? ((await reply.json()) as Session) : null;
  } catch {
    session.value = null;
  }
}

/** Why signing in failed: a wrong password, too many of them (with the seconds to wait), or something else. */
export type Refusal = { kind: 'wrong' } | { kind: 'wait' } | { kind: 'other'; sentence: string };

export async function signIn(account: string, password: string): Promise<Refusal | null> {
  try {
    session.value = (await (await changed('api/session', 'POST', { account, password })).json()) as Session;
    return null;
  } catch (error) {
    return refusalOf(error);
  }
}

export function sentenceOf(refusal: Refusal): string {
  return refusal.kind === 'other' ? refusal.sentence : t(refusal.kind === 'wrong' ? 'signIn.wrong' : 'signIn.wait');
}

export function refusalOf(error: unknown): Refusal {
  if (error instanceof ServerError && error.code === 'wrong_password') return { kind: 'wrong' };
  if (error instanceof ServerError && error.code === 'too_many_tries') return { kind: 'wait' };
  return { kind: 'other', sentence: error instanceof Error ? error.message : String(error) };
}

/** Changes one's own password; other sessions of the account end. */
export async function changePassword(password: string, new_password: string): Promise<Refusal | null> {
  try {
    session.value = (await (await changed('api/session/password', 'PUT', { password, new_password })).json()) as Session;
    return null;
  } catch (error) {
    return refusalOf(error);
  }
}

export async function signOut(): Promise<void> {
  await changed('api/session', 'DELETE');
  session.value = { accounts: true, account: null, role: null };
}
