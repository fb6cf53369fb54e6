import { changed } from '../api/client';
import { type Refusal, type Session, refusalOf } from './session';

/** Somebody who may sign in. */
export interface Account {
  name: string;
  role: NonNullable<Session['role']>;
  created: string;
  /** Since when it may not be used; empty: it may. */
  disabled: string;
}

export interface AccountWish {
  name: string;
  role?: Account['role'];
  password?: string;
  disabled?: boolean;
}

type Answer = readonly Account[] | Refusal;

async function listed(reply: Promise<Response>): Promise<Answer> {
  try {
    return ((await (await reply).json()) as { accounts: Account[] }).accounts;
  } catch (error) {
    return refusalOf(error);
  }
}

export const isList = (answer: Answer): answer is readonly Account[] => Array.isArray(answer);

export const listAccounts = (): Promise<Answer> => listed(changed('api/accounts', 'GET'));

/** @param own_password of who sits here, so that a page left open is not enough. */
export const addAccount = (own_password: string, wish: AccountWish): Promise<Answer> => listed(changed('api/accounts', 'POST', { own_password, ...wish }));

export const changeAccount = (own_password: string, { name, ...rest }: AccountWish): Promise<Answer> =>
  listed(changed(`api/accounts/${encodeURIComponent(name)}`, 'PUT', { own_password, ...rest }));
