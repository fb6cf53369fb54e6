import { said } from '../model/said';
import { t } from '../model/words';

/** A sentence the user must read, with a way to put it aside. */
export function Message({ sentence, dismiss }: { sentence: string; dismiss?: () => void }) {
  return (
    <div class="message" role="alert">
      <p>{said(sentence)}</p>
      {dismiss && (
        <button class="plain" type="button" onClick={dismiss} aria-label={t('app.dismiss')}>
          ×
        </button>
      )}
    </div>
  );
}
