import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { type Offer, TIPS, tipKey } from '../model/guide';
import { store } from '../model/store';
import { t } from '../model/words';

/** The first guide: a line of advice for the page shown, until it is put away. It never covers the work. */
export function Guide() {
  const { settings, route } = store.state;
  const { page } = route.value;
  const tip = useSignal(0);
  useEffect(() => {
    tip.value = 0;
  }, [page]);
  const count = TIPS[page];
  if (settings.value.guided || count === 0) return null;
  const at = Math.min(tip.value, count - 1);
  return (
    <aside class="guide" aria-label={t('guide.title')}>
      <p aria-live="polite">
        <b>{t('guide.count', { n: at + 1, all: count })}</b> {t(tipKey(page, at, offerOf()))}
      </p>
      <button type="button" disabled={at === 0} onClick={() => (tip.value = at - 1)}>
        {t('guide.back')}
      </button>
      <button type="button" disabled={at >= count - 1} onClick={() => (tip.value = at + 1)}>
        {t('guide.next')}
      </button>
      <button type="button" onClick={() => store.setSettings({ guided: true })}>
        {t('guide.away')}
      </button>
    </aside>
  );
}

function offerOf(): Offer {
  const { scans, cases } = store.state.start;
  if (cases.value.state === 'ready' && cases.value.value.some((c) => c.invented)) return 'case';
  return scans.value.state === 'ready' && scans.value.value.some((s) => s.invented) ? 'scan' : 'nothing';
}
