import { useSignal } from '@preact/signals';
import { t } from '../model/words';

/** Sentences shown before the rest is asked for. */
const FIRST = 2;

/** What the tracing says beside its numbers: also what it looked for and did not find. */
export function Findings({ sentences }: { sentences: readonly string[] }) {
  const all = useSignal(false);
  if (sentences.length === 0) return null;
  const shown = all.value ? sentences : sentences.slice(0, FIRST);
  return (
    <section class="findings" aria-labelledby="findings-title">
      <h2 id="findings-title">{t('findings.title')}</h2>
      <ul>
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
