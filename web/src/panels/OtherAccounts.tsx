import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { type Account, addAccount, changeAccount, isList, listAccounts } from '../model/accounts';
import { ROLES, sentenceOf } from '../model/session';
import { t } from '../model/words';

/** For a clinician: who else may sign in. Each change takes one's own password. */
export function OtherAccounts({ own }: { own: string }) {
  const all = useSignal<readonly Account[]>([]);
  const said = useSignal('');
  const busy = useSignal(false);
  const password = useRef<HTMLInputElement>(null);
  const take = async (answer: ReturnType<typeof listAccounts>, done: string): Promise<boolean> => {
    busy.value = true;
    const got = await answer;
    busy.value = false;
    if (isList(got)) all.value = got;
    said.value = isList(got) ? done : got.kind === 'wrong' ? t('accounts.wrong') : sentenceOf(got);
    return isList(got);
  };
  useEffect(() => void take(listAccounts(), ''), []);
  /** One's own password, asked for where it is missing. */
  const confirmed = (): string | null => {
    const field = password.current;
    return field?.reportValidity() ? field.value : null;
  };
  const change = (name: string, wish: { password?: string; disabled?: boolean }): void => {
    const confirm = confirmed();
    if (confirm !== null) void take(changeAccount(confirm, { name, ...wish }), t('accounts.done', { name }));
  };
  const add = (form: HTMLFormElement): void => {
    const confirm = confirmed();
    if (confirm === null) return;
    const given = new FormData(form);
    const name = String(given.get('name'));
    const wish = { name, role: given.get('role') as Account['role'], password: String(given.get('first')) };
    void take(addAccount(confirm, wish), t('accounts.done', { name })).then((went) => went && form.reset());
  };
  return (
    <section class="password others" aria-labelledby="others-title">
      <h3 id="others-title">{t('accounts.title')}</h3>
      <label>
        {t('accounts.own')}
        <input ref={password} type="password" autocomplete="current-password" required />
      </label>
      <ul>
        {all.value
          .filter(({ name }) => name !== own)
          .map((one) => (
            <Other key={one.name} account={one} busy={busy.value} change={change} />
          ))}
      </ul>
      <form
        class="password"
        onSubmit={(event) => {
          event.preventDefault();
          add(event.currentTarget);
        }}
      >
        <h4>{t('accounts.add')}</h4>
        <label>
          {t('accounts.name')}
          <input name="name" autocomplete="off" autocapitalize="none" spellcheck={false} required />
        </label>
        <label>
          {t('accounts.role')}
          <select name="role">
            {ROLES.map((role) => (
              <option key={role} value={role}>
                {t(`role.${role}`)}
              </option>
            ))}
          </select>
        </label>
        <label>
          {t('accounts.first')}
          <input name="first" type="password" autocomplete="new-password" required />
        </label>
        <button type="submit" disabled={busy.value}>
          {t('accounts.add')}
        </button>
      </form>
      <p role="status">{said.value}</p>
    </section>
  );
}

interface OtherProps {
  account: Account;
  busy: boolean;
  change: (name: string, wish: { password?: string; disabled?: boolean }) => void;
}

function Other({ account: { name, role, disabled }, busy, change }: OtherProps) {
  const wanted = useSignal<string | null>(null);
  return (
    <li>
      <p class="line">
        <b>{name}</b>
        <span class="soft">{disabled === '' ? t(`role.${role}`) : t('accounts.locked', { date: disabled.slice(0, 10) })}</span>
        <button type="button" disabled={busy} aria-label={`${t(disabled === '' ? 'accounts.lock' : 'accounts.unlock')}, ${name}`} onClick={() => change(name, { disabled: disabled === '' })}>
          {t(disabled === '' ? 'accounts.lock' : 'accounts.unlock')}
        </button>
        <button type="button" aria-expanded={wanted.value !== null} aria-label={`${t('account.new')}, ${name}`} onClick={() => (wanted.value = wanted.value === null ? '' : null)}>
          {t('account.new')}
        </button>
      </p>
      {wanted.value !== null && (
        <form
          class="line"
          onSubmit={(event) => {
            event.preventDefault();
            change(name, { password: wanted.value ?? '' });
            wanted.value = null;
          }}
        >
          <label>
            {t('accounts.passwordOf', { name })}
            <input type="password" autocomplete="new-password" required value={wanted.value} onInput={(event) => (wanted.value = event.currentTarget.value)} />
          </label>
          <button type="submit" disabled={busy}>
            {t('account.change')}
          </button>
        </form>
      )}
    </li>
  );
}
