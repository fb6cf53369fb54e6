import { said } from '../model/said';
import { store } from '../model/store';
import { t } from '../model/words';

/** The cautions of the program; always in sight. Those of a plan stand with the plan. */
export function Cautions() {
  const { about } = store.state;
  const all = about.value.state === 'ready' ? about.value.value.cautions : [];
  const sentence = about.value.state === 'failed' ? about.value.sentence : null;
  return (
    <footer class="cautions" aria-label={t('app.cautions')}>
      {sentence !== null ? <p role="alert">{sentence}</p> : <p>{all.map(said).map((c) => (/[.!?]$/.test(c) ? c : `${c}.`)).join(' ')}</p>}
    </footer>
  );
}
