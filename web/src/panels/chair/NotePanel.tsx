import { useSignal } from '@preact/signals';
import type { EntryKind, NewEntry } from '../../model/chair/log';
import { measurable } from '../../model/chair/run';
import type { ChairSheet, ChairStep } from '../../model/chair/steps';
import { store } from '../../model/store';
import { t } from '../../model/words';
import { DepthPad } from './DepthPad';
import { Over } from './Over';
import { stepName } from './StepFace';

type Deviation = 'blocked' | 'device-deformed' | 'device-broken' | 'note';
const DEVIATIONS: readonly Deviation[] = ['blocked', 'device-deformed', 'device-broken', 'note'];

/** What went otherwise than planned: a press for what, and a number or a line where one belongs to it. */
export function NotePanel({ step, sheet }: { step: ChairStep | null; sheet: ChairSheet }) {
  const kind = useSignal<Deviation | null>(null);
  const about: Partial<NewEntry> = step ? { canal: step.canal, step: step.key, ...(step.device === null ? {} : { device: step.device }) } : {};
  const save = (what: EntryKind, more: Partial<NewEntry>): void => {
    store.openPanel(null);
    void store.chair.record(what, { ...about, ...more });
  };
  const here = sheet.canals.find((c) => c.name === step?.canal);
  const range = here ? { least_mm: 1, most_mm: measurable(here).most_mm } : { least_mm: 1, most_mm: 40 };
  const at_mm = step?.stop_mm ?? here?.working_depth_mm ?? 20;
  return (
    <Over title={t('chair.noteTitle')}>
      {step && (
        <p class="soft">
          {step.canal} · {stepName(step, sheet)}
        </p>
      )}
      {kind.value === null && (
        <div class="deviations">
          <button type="button" class="big" onClick={() => store.openPanel('depth')}>
            {t('log.depth-measured')}
          </button>
          {DEVIATIONS.map((k) => (
            <button key={k} type="button" class="big" onClick={() => (k === 'device-deformed' ? save(k, {}) : (kind.value = k))}>
              {t(`log.${k}`)}
            </button>
          ))}
        </div>
      )}
      {kind.value === 'blocked' && <DepthPad label={t('chair.blockedAt')} range={range} start_mm={at_mm} save={(depth_mm) => save('blocked', { depth_mm })} />}
      {kind.value === 'device-broken' && (
        <>
          <p class="mind">{t('chair.brokenText')}</p>
          <DepthPad label={t('chair.brokenAt')} range={range} start_mm={at_mm} save={(depth_mm) => save('device-broken', { depth_mm })} />
        </>
      )}
      {kind.value === 'note' && <NoteText save={(text) => save('note', { text })} />}
    </Over>
  );
}

const MOST_LETTERS = 1000;

function NoteText({ save }: { save: (text: string) => void }) {
  const text = useSignal('');
  return (
    <form
      class="pad"
      onSubmit={(event) => {
        event.preventDefault();
        if (text.value.trim() !== '') save(text.value.trim());
      }}
    >
      <label>
        {t('chair.noteLabel')}
        <textarea rows={4} maxLength={MOST_LETTERS} autofocus value={text.value} onInput={(event) => (text.value = event.currentTarget.value)} />
      </label>
      <button class="act big" type="submit" disabled={text.value.trim() === ''}>
        {t('pad.save')}
      </button>
    </form>
  );
}
