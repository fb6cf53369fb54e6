import { useSignal } from '@preact/signals';
import { type Refusal, session, signIn, signOut } from '../model/session';
import { t } from '../model/words';
import { Mark } from '../view/Mark';

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
        <p role="alert">{refusal.value && sentence(refusal.value)}</p>
      </form>
    </main>
  );
}

function sentence(refusal: Refusal): string {
  return refusal.kind === 'other' ? refusal.sentence : t(refusal.kind === 'wrong' ? 'signIn.wrong' : 'signIn.wait');
}

/** Who is signed in, and the way out. */
export function SignedIn() {
  const now = session.value;
  if (!now?.account || !now.role) return null;
  return (
    <div class="signed-in">
      <span title={t(`role.${now.role}`)}>{now.account}</span>
      <button type="button" onClick={() => void signOut()}>{t('signIn.out')}</button>
    </div>
  );
}
