import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import schema from '../../../../api/case.schema.json';
import { type Draft, change, draft, openRecord, saveRecord, takeTheirsAsBase } from '../../model/record';
import { said } from '../../model/said';
import { t } from '../../model/words';
import { Message } from '../../view/Message';
import { Field, type Shape } from './Field';

/** The chapters of the record, in the order of a treatment. */
const CHAPTERS = ['patient', 'referral', 'complaint', 'tests', 'diagnosis', 'difficulty', 'consent', 'materials', 'events', 'fillings', 'completed', 'restoration', 'instructions', 'prognosis', 'recalls'] as const;
const SHAPES = schema.properties as unknown as Readonly<Record<string, Shape>>;

export function RecordButton({ caseId }: { caseId: string }) {
  const open = useSignal(false);
  return (
    <>
      <button type="button" onClick={() => (open.value = true)}>
        {t('record.title')}
      </button>
      {open.value && <RecordDialog caseId={caseId} close={() => (open.value = false)} />}
    </>
  );
}

function RecordDialog({ caseId, close }: { caseId: string; close: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  const failed = useSignal<string | null>(null);
  useEffect(() => {
    dialog.current?.showModal();
    // What was typed and not saved is still there when the form is opened again.
    if (draft.value?.caseId === caseId && !draft.value.saved) return;
    openRecord(caseId).catch((error: unknown) => (failed.value = String(error instanceof Error ? error.message : error)));
  }, [caseId]);
  const now = draft.value?.caseId === caseId ? draft.value : null;
  return (
    <dialog class="card record" ref={dialog} aria-labelledby="record-title" onClose={close}>
      <header>
        <h2 id="record-title">{t('record.title')}</h2>
        {now && <p class="soft">{version(now)}</p>}
        <button type="button" class="act" disabled={!now} onClick={() => void saveRecord()}>
          {t('record.save')}
        </button>
        <button type="button" onClick={() => dialog.current?.close()}>
          {t('app.close')}
        </button>
      </header>
      {failed.value !== null && <Message sentence={failed.value} />}
      {now?.sentence && (
        <p role="alert">
          {now.sentence}{' '}
          <button type="button" onClick={() => void takeTheirsAsBase()}>
            {t('record.mineOverTheirs')}
          </button>
        </p>
      )}
      {now?.base.findings.patient.map((sentence) => (
        <p key={sentence} role="alert">
          {said(sentence)}
        </p>
      ))}
      {now && <Form now={now} />}
    </dialog>
  );
}

function version({ base }: Draft): string {
  if (base.version === 0) return t('record.noVersion');
  return t('record.version', { n: base.version, made: base.made.slice(0, 16).replace('T', ' '), author: base.author || '–' });
}

function Form({ now }: { now: Draft }) {
  return (
    <form class="record-form" onSubmit={(event) => event.preventDefault()}>
      {CHAPTERS.map((key) => (
        <Field key={key} name={key} shape={SHAPES[key] ?? {}} value={now.notes[key]} change={(next) => change({ ...now.notes, [key]: next })} />
      ))}
      <Findings now={now} />
    </form>
  );
}

/** What follows from the version that was saved last and from the measured tooth. */
function Findings({ now }: { now: Draft }) {
  const { icd10, difficulty, consent, recalls } = now.base.findings;
  return (
    <section class="record-findings" aria-labelledby="record-findings-title">
      <h3 id="record-findings-title">{t('record.findings')}</h3>
      <p>
        {t('record.difficulty')}: <strong>{t(`record.is.${difficulty.grade}`)}</strong>
      </p>
      <ul>
        {icd10.map((one) => (
          <li key={one.code}>
            {one.code} {said(one.text)}
          </li>
        ))}
        {consent.map((one) => (
          <li key={one.point + one.because}>
            {said(one.point)} <span class="soft">{said(one.because)}</span>
          </li>
        ))}
        {recalls.due.map((date) => (
          <li key={date}>{t('record.due', { date })}</li>
        ))}
        {recalls.done.map((one) => (
          <li key={one.date}>
            {one.date}: {said(one.outcome ?? '')} {said(one.periapical_index_text ?? '')}
          </li>
        ))}
      </ul>
    </section>
  );
}
