import type { NewEntry } from '../../model/chair/log';
import { type Run, stopOf } from '../../model/chair/run';
import type { ChairSheet } from '../../model/chair/steps';
import * as format from '../../model/format';
import { store } from '../../model/store';
import { t } from '../../model/words';
import { Over } from './Over';
import { stepName } from './StepFace';

/** All steps with what is done, to go to one out of turn; and what was written into the log. */
export function StepsPanel({ sheet, run }: { sheet: ChairSheet; run: Run }) {
  return (
    <Over title={t('chair.steps')} wide>
      <div class="steps-log">
        <div class="all-steps" tabIndex={0} role="region" aria-label={t('chair.steps')}>
          {sheet.canals.map((canal) => (
            <section key={canal.name} aria-label={t('plan.canal', { canal: canal.name })}>
              <h3>{t('plan.canal', { canal: canal.name })}</h3>
              <ol>
                {sheet.steps
                  .filter((s) => s.canal === canal.name)
                  .map((s) => {
                    const stop = stopOf(s, run);
                    const done = run.done.includes(s.key);
                    return (
                      <li key={s.key}>
                        <button type="button" class={s.key === run.current?.key ? 'here' : ''} aria-current={s.key === run.current?.key ? 'step' : undefined} onClick={() => store.viewStep(s.key)}>
                          <span class="mark">
                            {done ? '✓' : '○'}
                            <span class="unseen">{done ? t('chair.isDone') : t('chair.isOpen')}</span>
                          </span>
                          <span>{stepName(s, sheet)}</span>
                          <span class="number">{stop ? format.stopSetting(stop.stop_mm) : ''}</span>
                        </button>
                      </li>
                    );
                  })}
              </ol>
            </section>
          ))}
        </div>
        <Log sheet={sheet} run={run} />
      </div>
    </Over>
  );
}

/** Entries are never changed: one that is wrong is taken back by a new one. */
function Log({ sheet, run }: { sheet: ChairSheet; run: Run }) {
  const entries = [...store.chair.entries()].reverse();
  const stands = new Set(run.deviations.map((e) => e.entry_id));
  return (
    <section class="log" tabIndex={0} aria-label={t('chair.log')}>
      <h3>{t('chair.log')}</h3>
      <ol>
        {entries.map((e) => (
          <li key={e.entry_id}>
            <time class="number" dateTime={e.at}>
              {e.at.slice(11, 19)}
            </time>{' '}
            <span>{entryText(e, sheet)}</span>
            {stands.has(e.entry_id) && (
              <button type="button" onClick={() => void store.chair.record('correction', { corrects: e.entry_id })}>
                {t('chair.takeBack')}
              </button>
            )}
          </li>
        ))}
      </ol>
    </section>
  );
}

function entryText(e: NewEntry, sheet: ChairSheet): string {
  const step = sheet.steps.find((s) => s.key === e.step);
  const parts = [
    t(`log.${e.kind}`),
    e.canal,
    e.kind === 'step-done' || e.kind === 'step-undone' ? (step ? stepName(step, sheet) : e.step) : null,
    e.depth_mm === undefined ? null : format.depth(e.depth_mm),
    e.seconds === undefined ? null : format.clock(e.seconds),
    e.text,
  ];
  return parts.filter(Boolean).join(' · ');
}
