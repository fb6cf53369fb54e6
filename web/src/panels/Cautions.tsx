import { store } from '../model/store';
import { t } from '../model/words';

/** The cautions of the program, and of the plan once it is there; always in sight. */
export function Cautions() {
  const { about, work, route } = store.state;
  const own = about.value.state === 'ready' ? about.value.value.cautions : [];
  const plan = route.value.page === 'work' && work.plan.value.state === 'ready' ? work.plan.value.value.cautions : [];
  const all = plan.length > 0 ? plan : own;
  const sentence = about.value.state === 'failed' ? about.value.sentence : null;
  return (
    <footer class="cautions" aria-label={t('app.cautions')}>
      {sentence !== null ? <p role="alert">{sentence}</p> : <p>{all.map((c) => (/[.!?]$/.test(c) ? c : `${c}.`)).join(' ')}</p>}
    </footer>
  );
}
