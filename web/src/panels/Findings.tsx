import { useSignal } from '@preact/signals';
import type { Tooth } from '../api/documents';
import * as format from '../model/format';
import { store } from '../model/store';
import { t } from '../model/words';

/** Sentences shown before the rest is asked for. */
const FIRST = 2;

/** What the tracing says beside its numbers: also what it looked for and did not find. */
export function Findings({ sentences, possible }: { sentences: readonly string[]; possible: NonNullable<Tooth['possible']> }) {
  const all = useSignal(false);
  if (sentences.length === 0 && possible.length === 0) return null;
  const shown = all.value ? sentences : sentences.slice(0, FIRST);
  return (
    <section class="findings" aria-labelledby="findings-title">
      <h2 id="findings-title">{t('findings.title')}</h2>
      <ul>
        {possible.map((p, i) => (
          <li key={`possible-${i}`}>
            <b>{t('findings.possible', { p: format.probability(p.presence) })}</b>{' '}
            {t('findings.look', { away: format.depth(p.from_nearest_mm), direction: p.direction, canal: p.nearest_canal, depth: format.depth(p.first_sign_depth_mm), floor: format.depth(p.floor_left_mm) })}{' '}
            <button class="plain" type="button" onClick={() => store.pin({ canal: p.nearest_canal, depth_mm: p.first_sign_depth_mm })}>
              {t('findings.goThere')}
            </button>
          </li>
        ))}
        {shown.map((sentence, i) => (
          <li key={i}>{sentence}</li>
        ))}
      </ul>
      {sentences.length > FIRST && (
        <button class="plain" type="button" aria-expanded={all.value} onClick={() => (all.value = !all.value)}>
          {all.value ? t('findings.less') : t('findings.more', { n: sentences.length })}
        </button>
      )}
    </section>
  );
}
