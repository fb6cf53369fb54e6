import type { ComponentChildren, JSX } from 'preact';
import type { CanalPlan, Plan, Passive, Step, Warning } from '../api/documents';
import { letterAddress } from '../api/client';
import { deviceLabel, shortLabel } from '../model/device';
import * as format from '../model/format';
import { findsTheWayOnly } from '../model/orders';
import { rowOfPassage } from '../model/lanes';
import { said } from '../model/said';
import { store } from '../model/store';
import { t } from '../model/words';
import { Choice } from '../view/Choice';
import { Message } from '../view/Message';
import { RemovalPart } from './RemovalPart';
import { FiguresPanel } from './FiguresPanel';
import { Orders } from './Orders';
import { RecordButton } from './record/RecordDialog';
import { From } from './OriginPanel';
import { PapersButton } from './Papers';
import { Tray } from './Tray';

/** Beside the ruler: the plan, whose every line shows on the ruler the passage that justifies it, or the figures. */
export function PlanPanel({ caseId }: { caseId: string }) {
  const { beside, plan } = store.state.work;
  return (
    <div class="card plan">
      <div class="plan-head">
        <Choice
          name="beside"
          label={t('beside.label')}
          value={beside.value}
          options={(['plan', 'orders', 'tray', 'figures'] as const).map((value) => ({ value, text: t(`beside.${value}`) }))}
          choose={(what) => store.showBeside(what)}
        />
        <div class="plan-do">
          <RecordButton caseId={caseId} />
          <PapersButton caseId={caseId} />
          {plan.value.state === 'ready' && (
            <a class="letter" href={letterAddress(caseId)} target="_blank" rel="noopener">
              {t('plan.letter')}
            </a>
          )}
        </div>
      </div>
      <div class="plan-scroll" tabIndex={0} role="region" aria-label={t(`beside.${beside.value}`)}>
        {beside.value === 'plan' && <PlanBody show={(ready) => <Ready plan={ready} />} />}
        {beside.value === 'orders' && <PlanBody show={(ready) => <Orders plan={ready} />} />}
        {beside.value === 'tray' && <Tray />}
        {beside.value === 'figures' && <FiguresPanel />}
      </div>
    </div>
  );
}

/** What is read of the plan, or how far it is. */
function PlanBody({ show }: { show: (plan: Plan) => JSX.Element }) {
  const plan = store.state.work.plan.value;
  if (plan.state === 'ready') return show(plan.value);
  if (plan.state === 'failed') {
    return (
      <>
        <Message sentence={plan.sentence} />
        <p>
          <button type="button" onClick={() => void store.planAgain()}>
            {t('plan.again')}
          </button>
        </p>
      </>
    );
  }
  return <MakingPlan />;
}

function MakingPlan() {
  const making = store.state.work.making.plan.value;
  return (
    <div class="making">
      <p role="status" class="soft">
        {making?.lost ? t('locate.lost') : t('plan.waiting')} … {t('plan.waitingLong')}
      </p>
      {making && (
        <>
          <progress max={1} value={making.fraction} aria-label={t('plan.waiting')} />
          <p class="soft">{said(making.stage)}</p>
          <button type="button" disabled={making.cancelling} onClick={() => void store.stopPlan()}>
            {t(making.cancelling ? 'locate.cancelling' : 'plan.stop')}
          </button>
        </>
      )}
    </div>
  );
}

function Ready({ plan }: { plan: Plan }) {
  return (
    <>
      <Warnings plan={plan} />
      {plan.canals.map((canal) => (
        <CanalPart key={canal.canal} canal={canal} plan={plan} />
      ))}
      <section class="plan-cautions">
        <h3>{t('app.cautions')}</h3>
        <ul class="notes">
          {plan.cautions.map((caution) => (
            <li key={caution}>{said(caution)}</li>
          ))}
        </ul>
      </section>
      {plan.basis && plan.basis.length > 0 && (
        <details class="basis">
          <summary>{t('plan.basis')}</summary>
          <dl>
            {plan.basis.map((b) => (
              <div key={b.what}>
                <dt>
                  {said(b.what)}: <b>{said(b.value)}</b>
                </dt>
                <dd class="soft">{said(b.source)}</dd>
              </div>
            ))}
          </dl>
        </details>
      )}
    </>
  );
}

const label = (id: string): string => {
  const device = store.device(id);
  return device ? deviceLabel(device) : id;
};

const short = (id: string): string => {
  const device = store.device(id);
  return device ? shortLabel(device) : id;
};

/** True when the passage is the one chosen on the ruler. */
function isShown(plan: Plan, index: number): boolean {
  const row = rowOfPassage(plan, index);
  return row !== null && store.state.work.selected.value?.id === row.id;
}

function Warnings({ plan }: { plan: Plan }) {
  if (plan.warnings.length === 0) return <p class="soft">{t('plan.noWarnings')}</p>;
  return (
    <>
      <h3>{t('plan.warnings')}</h3>
      <ul class="warnings">
        {plan.warnings.map((w, i) => (
          <WarningLine key={i} warning={w} />
        ))}
      </ul>
    </>
  );
}

function WarningLine({ warning }: { warning: Warning }) {
  const { passage, canal, depth_mm } = warning;
  const show = (): void => {
    if (typeof passage === 'number') store.rehearsal.showPlanPassage(passage, depth_mm ?? undefined);
    else if (canal && typeof depth_mm === 'number') store.pin({ canal, depth_mm });
  };
  const where = [canal, typeof depth_mm === 'number' ? format.depth(depth_mm) : null].filter(Boolean).join(' ');
  const shows = typeof passage === 'number' || (canal && typeof depth_mm === 'number');
  const body = (
    <>
      <span class={`severity severity-${warning.severity}`}>{t(`plan.severity.${warning.severity}`)}</span>
      <span class="text">
        {where !== '' && <b>{where} </b>}
        {said(warning.text)} <span class="soft">{said(warning.reason)}</span>
      </span>
    </>
  );
  return <li>{shows ? <button class="line" type="button" title={t('plan.show')} onClick={show}>{body}</button> : <div class="line">{body}</div>}</li>;
}

function CanalPart({ canal, plan }: { canal: CanalPlan; plan: Plan }) {
  return (
    <article aria-label={t('plan.canal', { canal: canal.canal })}>
      <h3>
        {t('plan.canal', { canal: canal.canal })}
        <span class="number">
          <From of="work">{t('plan.work')}</From> {format.depth(canal.working_depth_mm)}
          {canal.ends_at_join && <span class="soft"> {t('plan.toJoin', { canal: canal.ends_at_join.canal })}</span>}
        </span>
      </h3>
      <p class="soft">{said(canal.working_depth_why)}</p>
      {canal.smallest.sentence !== '' && (
        <Line index={canal.smallest.passage ?? null} plan={plan}>
          <span class="what">{t('plan.smallest')}</span>
          <span class="text">{said(canal.smallest.sentence)}</span>
        </Line>
      )}
      {canal.order.length > 0 && (
        <>
          <div class="order-head">
            <span />
            <From of="order">{t('plan.order')}</From>
            <From of="stop">{t('plan.col.stop')}</From>
            <From of="wallLeft">{t('plan.col.wall')}</From>
          </div>
          <ol class="order">
            {canal.order.map((step, i) => (
              <StepLine key={i} step={step} number={i + 1} plan={plan} />
            ))}
          </ol>
        </>
      )}
      <RemovalPart canal={canal} />
      {canal.final && (
        <Line index={canal.final.passage} plan={plan}>
          <span class="what">{t(findsTheWayOnly(canal) ? 'plan.finalNone' : 'plan.final')}</span>
          <span class="text">
            {said(canal.final.why)} <b>{t('plan.limitedBy', { reason: t(`plan.limit.${canal.final.limited_by}`) })}</b>
          </span>
        </Line>
      )}
      {canal.recapitulation && (
        <Line index={canal.recapitulation.passage} plan={plan}>
          <span class="what">{t('plan.recheck')}</span>
          <span class="text">
            {label(canal.recapitulation.device)} <b class="number">{format.stopSetting(canal.recapitulation.stop_setting_mm)}</b>{' '}
            <span class="soft">{said(canal.recapitulation.why)}</span>
          </span>
        </Line>
      )}
      <PassivePart list={canal.passive.filter((p) => p.chosen)} plan={plan} />
      {canal.notes.length > 0 && (
        <>
          <h4>{t('plan.notes')}</h4>
          <ul class="notes">
            {canal.notes.map((note, i) => (
              <li key={i}>{said(note)}</li>
            ))}
          </ul>
        </>
      )}
    </article>
  );
}

interface LineProps {
  index: number | null;
  plan: Plan;
  children: ComponentChildren;
}

function Line({ index, plan, children }: LineProps) {
  if (index === null) return <div class="line">{children}</div>;
  return (
    <button class={`line ${isShown(plan, index) ? 'shown' : ''}`} type="button" title={t('plan.show')} onClick={() => store.rehearsal.showPlanPassage(index)}>
      {children}
    </button>
  );
}

function StepLine({ step, number, plan }: { step: Step; number: number; plan: Plan }) {
  const wall = step.wall_left_mm;
  return (
    <li>
      <button
        class={`line step ${isShown(plan, step.passage) ? 'shown' : ''}`}
        type="button"
        title={t('plan.show')}
        onClick={() => store.rehearsal.showPlanPassage(step.passage, step.depth_mm)}
      >
        <span class="soft">{number}</span>
        <span>
          <b title={label(step.device)}>{short(step.device)}</b> <span class="soft">{t(`plan.action.${step.action}`)}</span>
        </span>
        <b class="number">{format.stopSetting(step.stop_setting_mm)}</b>
        <span class="number">{typeof wall === 'number' ? format.width(wall) : '–'}</span>
        <span class="why soft">{said(step.why)}</span>
      </button>
    </li>
  );
}

function PassivePart({ list, plan }: { list: Passive[]; plan: Plan }) {
  if (list.length === 0) return null;
  return (
    <>
      <h4>{t('plan.passive')}</h4>
      {list.map((p, i) => (
        <Line key={i} index={p.passage} plan={plan}>
          <span class="what">{t(`plan.job.${p.job}`)}</span>
          <span class="text">
            {label(p.device)} <b class="number">{format.stopSetting(p.stop_setting_mm)}</b> <span class="soft">{said(p.why)}</span>
          </span>
        </Line>
      ))}
    </>
  );
}
