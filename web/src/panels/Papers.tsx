import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { type ModelWish, fetchFile, fetching, fileAddress, outcome } from '../model/downloads';
import { typed } from '../model/format';
import { may } from '../model/session';
import { type Language, language, t } from '../model/words';
import { Choice } from '../view/Choice';
import { Message } from '../view/Message';
import { saveFile } from '../view/save-file';

/** The button beside the plan, and what it opens: everything that can be handed on of a case. */
export function PapersButton({ caseId }: { caseId: string }) {
  const open = useSignal(false);
  return (
    <>
      <button type="button" onClick={() => (open.value = true)}>
        {t('papers.title')}
      </button>
      {open.value && <PapersDialog caseId={caseId} close={() => (open.value = false)} />}
    </>
  );
}

function PapersDialog({ caseId, close }: { caseId: string; close: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    outcome.value = null;
    dialog.current?.showModal();
  }, []);
  return (
    <dialog class="card papers" ref={dialog} aria-labelledby="papers-title" onClose={close}>
      <header>
        <h2 id="papers-title">{t('papers.title')}</h2>
        <button type="button" onClick={() => dialog.current?.close()}>
          {t('app.close')}
        </button>
      </header>
      <Letters caseId={caseId} />
      <section>
        <h3>{t('papers.programs')}</h3>
        <Offer title={t('papers.fhir')} help={t('papers.fhir.help')}>
          <Get name={t('papers.fhir')} path={fileAddress(caseId, 'fhir.json')} least="assistant" />
        </Offer>
        <Offer title={t('papers.dicom')} help={t('papers.dicom.help')}>
          <Get name={t('papers.dicom')} path={fileAddress(caseId, 'dicom.zip')} least="assistant" />
        </Offer>
        <Archive caseId={caseId} />
      </section>
      <Model caseId={caseId} />
      <Progress />
    </dialog>
  );
}

/** What is read by people, in a language of theirs. What is given out is kept unless the user only wants to look. */
function Letters({ caseId }: { caseId: string }) {
  const spoken = useSignal<Language>(language.value);
  const keep = useSignal(may('assistant'));
  return (
    <section>
      <h3>{t('papers.read')}</h3>
      <div class="offer">
        <Choice
          name="papers-language"
          label={t('papers.language')}
          value={spoken.value}
          options={(['en', 'de'] as const).map((value) => ({ value, text: t(`papers.language.${value}`) }))}
          choose={(value) => (spoken.value = value)}
        />
        <label class="tick">
          <input type="checkbox" disabled={!may('assistant')} checked={keep.value} onChange={(event) => (keep.value = event.currentTarget.checked)} />
          {t('papers.keep')}
        </label>
      </div>
      {(['letter', 'leaflet', 'discharge'] as const).map((paper) => (
        <Offer key={paper} title={t(`papers.${paper}`)} help={t(`papers.${paper}.help`)}>
          {(['pdf', 'html'] as const).map((form) => (
            <Get key={form} name={t(`papers.${paper}`)} keep={keep.value} path={fileAddress(caseId, `${paper}.${form}`, paper === 'letter' ? {} : { language: spoken.value })} />
          ))}
        </Offer>
      ))}
    </section>
  );
}

function Offer({ title, help, children }: { title: string; help: string; children: ComponentChildren }) {
  return (
    <div class="offer">
      <p>
        <b>{title}</b> <span class="soft">{help}</span>
      </p>
      <div class="forms">{children}</div>
    </div>
  );
}

interface GetProps {
  name: string;
  path: string;
  least?: 'assistant' | 'clinician';
  disabled?: boolean;
  /** The case keeps what is handed out. */
  keep?: boolean;
}

/** Asks for one file. Who may not have it sees that before pressing. */
function Get({ name, path, least, disabled, keep }: GetProps) {
  const allowed = !least || may(least);
  const form = path.replace(/\?.*/, '').split('.').pop()?.toUpperCase() ?? '';
  const called = `${name}, ${form}`;
  return (
    <button
      type="button"
      aria-label={called}
      disabled={!allowed || disabled || fetching.value !== null}
      title={allowed ? undefined : t('papers.notYours')}
      onClick={() => void fetchFile(path, called, (file) => saveFile(file.name, file.bytes), keep)}
    >
      {form}
    </button>
  );
}

function Archive({ caseId }: { caseId: string }) {
  const scan = useSignal(true);
  return (
    <Offer title={t('papers.archive')} help={t('papers.archive.help')}>
      <label class="tick">
        <input type="checkbox" checked={scan.value} onChange={(event) => (scan.value = event.currentTarget.checked)} />
        {t('papers.archive.scan')}
      </label>
      <Get name={t('papers.archive')} path={fileAddress(caseId, 'archive.zip', scan.value ? {} : { scan: 'no' })} least="clinician" />
    </Offer>
  );
}

const SCALE = { least: 0.5, most: 20 };

function Model({ caseId }: { caseId: string }) {
  const body = useSignal<ModelWish['body']>('tooth');
  const scale = useSignal('1');
  const size = typed(scale.value);
  const fits = size !== null && size >= SCALE.least && size <= SCALE.most;
  return (
    <section>
      <h3>{t('papers.print')}</h3>
      <Offer title={t('papers.model')} help={t('papers.model.help')}>
        <Choice
          name="model-body"
          label={t('papers.body')}
          value={body.value}
          options={(['tooth', 'block'] as const).map((value) => ({ value, text: t(`papers.body.${value}`) }))}
          choose={(value) => (body.value = value)}
        />
        <label class="scale">
          {t('papers.scale')}{' '}
          <input type="text" inputMode="decimal" size={4} value={scale.value} aria-invalid={!fits} aria-describedby="scale-range" onInput={(event) => (scale.value = event.currentTarget.value)} />
          <span id="scale-range" class={fits ? 'unseen' : 'wrong'}>
            {t('papers.scale.range')}
          </span>
        </label>
        {(['stl', '3mf'] as const).map((form) => (
          <Get key={form} name={t('papers.model')} disabled={!fits} path={fileAddress(caseId, `model.${form}`, { body: body.value, scale: size ?? 1 })} />
        ))}
      </Offer>
    </section>
  );
}

function Progress() {
  const now = fetching.value;
  const last = outcome.value;
  return (
    <footer>
      {now && (
        <>
          <progress aria-label={t('papers.making', { name: now.name })} />
          <button type="button" onClick={now.stop}>
            {t('papers.stop')}
          </button>
        </>
      )}
      <p role="status" class="soft">
        {now ? `${t('papers.making', { name: now.name })} …` : last?.sentence === null ? t('papers.saved', { name: last.name }) : ''}
      </p>
      {last?.sentence && <Message sentence={last.sentence} dismiss={() => (outcome.value = null)} />}
      <p class="soft">{t('papers.mind')}</p>
    </footer>
  );
}
