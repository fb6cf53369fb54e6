import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { type Refusal, changePassword, may, sentenceOf, session, signIn, signOut } from '../model/session';
import { t } from '../model/words';
import { Mark } from '../view/Mark';
import { OtherAccounts } from './OtherAccounts';

/** Asked for once somebody has made an account; before that nobody ever sees it. */
export function SignIn({ then }: { then: () => void }) {
  const refusal = useSignal<Refusal | null>(null);
  const busy = useSignal(false);
  const submit = (form: HTMLFormElement): void => {
    const given = new FormData(form);
    busy.value = true;
    void signIn(String(given.get('account')), String(given.get('password'))).then((why) => {
      busy.value = false;
      refusal.value = why;
      if (why === null) then();
      else form.querySelector<HTMLInputElement>('input[type=password]')?.select();
    });
  };
  return (
    <main id="work" class="sign-in" tabIndex={-1}>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          submit(event.currentTarget);
        }}
      >
        <h1>
          <Mark />
          {t('app.name')}
        </h1>
        <label>
          {t('signIn.account')}
          <input name="account" autocomplete="username" autocapitalize="none" spellcheck={false} required autofocus />
        </label>
        <label>
          {t('signIn.password')}
          <input name="password" type="password" autocomplete="current-password" required />
        </label>
        <button type="submit" class="act" disabled={busy.value}>
          {t('signIn.button')}
        </button>
        <p role="alert">{refusal.value && sentenceOf(refusal.value)}</p>
      </form>
    </main>
  );
}

/** Who is signed in, the way to another password, and the way out. */
export function SignedIn() {
  const now = session.value;
  if (!now?.account || !now.role) return null;
  return (
    <div class="signed-in">
      <PasswordButton account={now.account} role={t(`role.${now.role}`)} />
      <button type="button" onClick={() => void signOut()}>{t('signIn.out')}</button>
    </div>
  );
}

/** One's own account. */
function PasswordButton({ account, role }: { account: string; role: string }) {
  const open = useSignal(false);
  return (
    <>
      <button type="button" class="plain" title={t('account.own')} onClick={() => (open.value = true)}>
        {account}
      </button>
      {open.value && <PasswordDialog account={account} role={role} close={() => (open.value = false)} />}
    </>
  );
}

function PasswordDialog({ account, role, close }: { account: string; role: string; close: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  const said = useSignal('');
  const busy = useSignal(false);
  useEffect(() => dialog.current?.showModal(), []);
  const submit = (form: HTMLFormElement): void => {
    const given = new FormData(form);
    const [old, wanted, again] = ['password', 'wanted', 'again'].map((name) => String(given.get(name)));
    if (wanted !== again) {
      said.value = t('account.differ');
      return;
    }
    busy.value = true;
    void changePassword(old ?? '', wanted ?? '').then((why) => {
      busy.value = false;
      said.value = why === null ? t('account.changed') : why.kind === 'wrong' ? t('account.wrong') : sentenceOf(why);
      if (why === null) form.reset();
    });
  };
  return (
    <dialog class="card settings" ref={dialog} aria-labelledby="account-title" onClose={close}>
      <header>
        <h2 id="account-title">
          {account} <span class="soft">{role}</span>
        </h2>
        <button type="button" onClick={() => dialog.current?.close()}>
          {t('app.close')}
        </button>
      </header>
      <form
        class="password"
        onSubmit={(event) => {
          event.preventDefault();
          submit(event.currentTarget);
        }}
      >
        <h3>{t('account.password')}</h3>
        <input type="text" name="username" autocomplete="username" value={account} hidden readOnly />
        <label>
          {t('account.old')}
          <input name="password" type="password" autocomplete="current-password" required />
        </label>
        <label>
          {t('account.new')}
          <input name="wanted" type="password" autocomplete="new-password" required />
        </label>
        <label>
          {t('account.again')}
          <input name="again" type="password" autocomplete="new-password" required />
        </label>
        <button type="submit" disabled={busy.value}>
          {t('account.change')}
        </button>
        <p role="status">{said.value}</p>
      </form>
      {may('clinician') && <OtherAccounts own={account} />}
    </dialog>
  );
}
