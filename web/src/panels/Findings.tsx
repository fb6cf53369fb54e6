import { useSignal } from '@preact/signals';
import type { Tooth } from '../api/documents';
import { firstDepth } from '../model/canal';
import * as format from '../model/format';
import { DOUBTFUL } from '../model/risk';
import { said } from '../model/said';
import { store } from '../model/store';
import { t } from '../model/words';

/** Sentences shown before the rest is asked for. */
const FIRST = 2;

/** Sets the cursor and brings the canal's lane into sight. */
function goTo(canal: string, depth_mm: number): void {
  store.pin({ canal, depth_mm });
  document.querySelector(`.lane[data-canal="${CSS.escape(canal)}"]`)?.scrollIntoView({ block: 'nearest' });
}

/** Which canals were found, and what the tracing says beside its numbers: also what it looked for and did not find. */
export function Findings({ tooth }: { tooth: Tooth }) {
  const all = useSignal(false);
  const { canals, findings: sentences = [], possible = [] } = tooth;
  // Large pictures need the room.
  const first = store.state.work.pictures.large.value ? 0 : FIRST;
  const shown = all.value ? sentences : sentences.slice(0, first);
  return (
    <section class="findings" aria-labelledby="findings-title">
      <h2 id="findings-title">{t('findings.title')}</h2>
      <ul>
        {canals.length > 0 && (
          <li>
            {t(canals.length === 1 ? 'findings.oneCanal' : 'findings.canals', { n: canals.length })}{' '}
            {canals.map((canal) => (
              <button key={canal.name} class="plain" type="button" onClick={() => goTo(canal.name, firstDepth(canal))}>
                {canal.name}
                {canal.presence !== undefined && canal.presence !== null && canal.presence < DOUBTFUL && ` (${format.probability(canal.presence)})`}
              </button>
            ))}
          </li>
        )}
        {possible.map((p, i) => (
          <li key={`possible-${i}`}>
            <b>{t('findings.possible', { p: format.probability(p.presence) })}</b>{' '}
            {t('findings.look', { away: format.depth(p.from_nearest_mm), direction: t(`side.${p.direction}`), canal: p.nearest_canal, depth: format.depth(p.first_sign_depth_mm), floor: format.depth(p.floor_left_mm) })}{' '}
            <button class="plain" type="button" onClick={() => goTo(p.nearest_canal, p.first_sign_depth_mm)}>
              {t('findings.goThere')}
            </button>
          </li>
        ))}
        {shown.map((sentence, i) => (
          <li key={i}>{said(sentence)}</li>
        ))}
      </ul>
      {sentences.length > first && (
        <button class="plain" type="button" aria-expanded={all.value} onClick={() => (all.value = !all.value)}>
          {all.value ? t('findings.less') : t('findings.more', { n: sentences.length })}
        </button>
      )}
    </section>
  );
}
