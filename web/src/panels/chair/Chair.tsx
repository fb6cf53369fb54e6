import { useEffect } from 'preact/hooks';
import { type Run, stopOf } from '../../model/chair/run';
import type { ChairSheet, ChairStep } from '../../model/chair/steps';
import { formatRoute } from '../../model/route';
import { said } from '../../model/said';
import { store } from '../../model/store';
import { t, toothName, toothNumber } from '../../model/words';
import { Invented } from '../../view/Invented';
import { Message } from '../../view/Message';
import { Guide } from '../Guide';
import { DepthPanel } from './DepthPanel';
import { DepthStrip } from './DepthStrip';
import { NotePanel } from './NotePanel';
import { StepFace, stepName } from './StepFace';
import { StepsPanel } from './StepsPanel';
import { speak } from './speech';
import { usePedals } from './usePedals';
import { useWakeLock } from './useWakeLock';

/** The plan at the chair, one step at a time, to be read from two metres and worked with gloves on or by foot. */
export function Chair() {
  const sheet = store.state.chair.sheet.value;
  const route = store.state.route.value;
  if (sheet.state === 'ready') return <Ready sheet={sheet.value} />;
  const back = route.page === 'chair' ? formatRoute({ page: 'work', caseId: route.caseId }) : '#/';
  const making = store.state.chair.making.value;
  return (
    <main class="chair-wait">
      <h1>{t('chair.title')}</h1>
      {sheet.state === 'failed' ? <Message sentence={sheet.sentence} /> : <p role="status">{t(making ? 'plan.waiting' : 'app.loading')} …</p>}
      {making && <progress max={1} value={making.fraction} aria-label={t('plan.waiting')} />}
      <a href={back}>{t('chair.leave')}</a>
    </main>
  );
}

function Ready({ sheet }: { sheet: ChairSheet }) {
  const run = store.chair.run();
  const { panel, viewed, news, sentence } = store.state.chair;
  const step = sheet.steps.find((s) => s.key === viewed.value) ?? run.current;
  const advance = (): void => {
    if (!step) return;
    if (step.doing === 'measure' && !run.done.includes(step.key)) store.openPanel('depth');
    else void store.chair.next(step);
  };
  usePedals({ next: advance, undo: () => void store.chair.undo(), note: () => store.openPanel('note') }, panel.value === null);
  useWakeLock();
  const spoken = store.state.settings.value.spoken;
  useEffect(() => {
    if (spoken && step) speak(sentenceOf(step, sheet, run));
  }, [spoken, step?.key]);
  return (
    <div class="chair">
      <a class="skip" href="#chair-main" onClick={focusMain}>
        {t('app.skip')}
      </a>
      <div class="heads">
        <Head sheet={sheet} run={run} />
        <Guide />
      </div>
      <main id="chair-main" tabIndex={-1}>
        {news.value && news.value.length > 0 && (
          <div class="news" role="status">
            <p>
              {t('chair.news', { canals: news.value.join(', ') })} {sheet.canals.filter((c) => news.value?.includes(c.name)).flatMap((c) => c.changes).map(said).join(' ')}
            </p>
            <button type="button" onClick={() => store.clearChairNews()}>
              {t('chair.newsRead')}
            </button>
          </div>
        )}
        {sentence.value !== null && <Message sentence={sentence.value} dismiss={() => store.clearChairNews()} />}
        {step ? <StepFace step={step} sheet={sheet} run={run} /> : <Finished />}
        {step && <DepthStrip step={step} sheet={sheet} run={run} />}
      </main>
      <Foot step={step} sheet={sheet} run={run} advance={advance} />
      <p class="chair-cautions">{sheet.cautions.map(said).join(' ')}</p>
      {panel.value === 'depth' && <DepthPanel step={step} sheet={sheet} run={run} />}
      {panel.value === 'note' && <NotePanel step={step} sheet={sheet} />}
      {panel.value === 'steps' && <StepsPanel sheet={sheet} run={run} />}
    </div>
  );
}

function focusMain(event: Event): void {
  event.preventDefault();
  document.getElementById('chair-main')?.focus();
}

/** What is spoken: what to do with what, to which depth. */
function sentenceOf(step: ChairStep, sheet: ChairSheet, run: Run): string {
  const stop = stopOf(step, run);
  return [step.canal, stepName(step, sheet), stop && t('chair.spokenStop', { mm: stop.stop_mm.toFixed(1) })].filter(Boolean).join('. ');
}

function Head({ sheet, run }: { sheet: ChairSheet; run: Run }) {
  const name = toothName(sheet.fdi);
  return (
    <header class="chair-head">
      <h1>{name === '' ? t('tooth.unknown') : `${toothNumber(sheet.fdi)} ${name}`}</h1>
      {sheet.invented && <Invented />}
      <ul class="progress" aria-label={t('chair.progress')}>
        {sheet.canals.map((canal) => {
          const steps = sheet.steps.filter((s) => s.canal === canal.name);
          const done = steps.filter((s) => run.done.includes(s.key)).length;
          const here = run.current?.canal === canal.name;
          return (
            <li key={canal.name} class={here ? 'here' : undefined} aria-current={here ? 'step' : undefined}>
              {done === steps.length ? '✓ ' : here ? '▸ ' : ''}
              {canal.name} <span class="number">{t('chair.ofSteps', { done, all: steps.length })}</span>
            </li>
          );
        })}
      </ul>
      <Link />
      <div class="chair-tools">
        <button type="button" onClick={() => store.openPanel('steps')}>
          {t('chair.steps')}
        </button>
        <button type="button" onClick={() => void fullScreen()}>
          {t('chair.fullScreen')}
        </button>
        <a class="button" href={formatRoute({ page: 'work', caseId: sheet.caseId })}>
          {t('chair.leave')}
        </a>
      </div>
    </header>
  );
}

/** Whether what was noted has reached the program; the word says it, the colour only helps. */
function Link() {
  const { link, waiting, safe, sheet } = store.state.chair;
  const caseId = sheet.value.state === 'ready' ? sheet.value.value.caseId : '';
  const own = waiting.value.filter((w) => w.caseId === caseId);
  const refused = own.find((w) => w.refused !== undefined);
  const lost = link.value === 'lost';
  return (
    <p class={`link ${lost ? 'lost' : ''}`} role="status">
      {lost ? t(safe.value ? 'chair.away' : 'chair.awayUnsafe', { n: own.length }) : own.length > 0 ? t('chair.sending', { n: own.length }) : t('chair.saved')}
      {refused && ` ${t('chair.refused', { why: refused.refused ?? '' })}`}
    </p>
  );
}

function Finished() {
  return (
    <section class="face finished">
      <h2>{t('chair.finished')}</h2>
      <p>{t('chair.finishedText')}</p>
    </section>
  );
}

function Foot({ step, sheet, run, advance }: { step: ChairStep | null; sheet: ChairSheet; run: Run; advance: () => void }) {
  const { viewed } = store.state.chair;
  const at = step ? sheet.steps.findIndex((s) => s.key === step.key) : -1;
  const after = sheet.steps.slice(at + 1).find((s) => !run.done.includes(s.key));
  const outOfTurn = viewed.value !== null && step !== null && step.key !== run.current?.key;
  return (
    <footer class="chair-foot">
      <p class="after">
        {outOfTurn ? (
          <button type="button" onClick={() => store.viewStep(null)}>
            {t('chair.backToTurn')}
          </button>
        ) : (
          <>
            <span>{t('chair.then')}</span> {after ? `${after.canal === step?.canal ? '' : `${after.canal}: `}${stepName(after, sheet)}` : t('chair.thenNothing')}
          </>
        )}
      </p>
      <button type="button" class="big" disabled={run.done.length === 0} onClick={() => void store.chair.undo()}>
        <span aria-hidden="true">↶ </span>
        {t('chair.undo')}
      </button>
      <button type="button" class="big" onClick={() => store.openPanel('note')}>
        <span aria-hidden="true">✎ </span>
        {t('chair.note')}
      </button>
      <button type="button" class="big next" disabled={step === null} onClick={advance}>
        {step?.doing === 'measure' && !run.done.includes(step.key) ? t('chair.enterDepth') : t('chair.next')}
        <span aria-hidden="true"> ›</span>
      </button>
    </footer>
  );
}

async function fullScreen(): Promise<void> {
  if (document.fullscreenElement) await document.exitFullscreen();
  else await document.documentElement.requestFullscreen().catch(() => undefined);
}
