import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import type { CanalPlan, Plan } from '../api/documents';
import { shortLabel } from '../model/device';
import * as format from '../model/format';
import { type Because, type Order, type Unused as UnusedInstrument, firstPair, onlyIn, ordersOf, risksOf, sumOf, unusedByReason, unusedOf } from '../model/orders';
import { said } from '../model/said';
import { store } from '../model/store';
import { t } from '../model/words';
import { From } from './OriginPanel';

const short = (id: string | undefined): string => {
  const device = id === undefined ? undefined : store.device(id);
  return device ? shortLabel(device) : (id ?? '–');
};
/** Two orders of instruments side by side, and for a canal what could go wrong, what one more item would change, and what was left out. */
export function Orders({ plan }: { plan: Plan }) {
  const orders = ordersOf(plan);
  const pair = firstPair(orders, store.state.work.cursor.value?.canal);
  const chosen = [useSignal(pair[0]), useSignal(pair[1])] as const;
  const [left, right] = chosen.map((key, side) => orders.find((o) => o.key === key.value) ?? orders.find((o) => o.key === pair[side])) as [Order | undefined, Order | undefined];
  if (!left || !right) return <p class="soft">{t('orders.none')}</p>;
  const canals = plan.canals.filter((c) => c.canal === left.canal || c.canal === right.canal);
  return (
    <div class="orders">
      <div class="pair">
        {([left, right] as const).map((order, side) => (
          <section key={side} aria-label={t(side === 0 ? 'orders.left' : 'orders.right')}>
            <select aria-label={t(side === 0 ? 'orders.left' : 'orders.right')} value={order.key} onChange={(event) => ((side === 0 ? chosen[0] : chosen[1]).value = event.currentTarget.value)}>
              {orders.map((o) => (
                <option key={o.key} value={o.key}>
                  {o.canal} · {t(`orders.kind.${o.kind}`)}
                </option>
              ))}
            </select>
            <OneOrder order={order} other={side === 0 ? right : left} />
          </section>
        ))}
      </div>
      <Sums left={left} right={right} />
      {canals.map((canal) => (
        <About key={canal.canal} canal={canal} />
      ))}
    </div>
  );
}

function OneOrder({ order, other }: { order: Order; other: Order }) {
  const only = onlyIn(order, other);
  return (
    <>
      <ol>
        {order.steps.map((step, i) => (
          <li key={i} title={said(step.why)}>
            <b>{short(step.device)}</b> <span class="soft">{t(`plan.action.${step.action}`)}</span>
            {only.has(step.device) && order.canal === other.canal && <em> {t('orders.onlyHere')}</em>}
            <span class="number">{format.stopSetting(step.stop_setting_mm)}</span>
          </li>
        ))}
      </ol>
      {order.sentence !== '' && <p>{said(order.sentence)}</p>}
    </>
  );
}

/** The figures of both orders, each pair on one line. */
function Sums({ left, right }: { left: Order; right: Order }) {
  const sums = [sumOf(left), sumOf(right)] as const;
  const line = (name: ComponentChildren, value: (sum: ReturnType<typeof sumOf>) => string) => (
    <tr>
      <th scope="row">{name}</th>
      <td class="number">{value(sums[0])}</td>
      <td class="number">{value(sums[1])}</td>
    </tr>
  );
  return (
    <table>
      <thead>
        <tr>
          <td />
          {[left, right].map((order, side) => (
            <th key={side} scope="col">
              {order.canal} · {t(`orders.kind.${order.kind}`)}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {line(t('orders.instruments'), (sum) => String(sum.instruments))}
        {line(t('orders.last'), (sum) => short(sum.last))}
        {line(<From of="wallLeft">{t('plan.col.wall')}</From>, (sum) => (sum.wall_left_mm === undefined ? '–' : format.width(sum.wall_left_mm)))}
        {line(<From of="wallLeft">{t('orders.removed')}</From>, (sum) => (sum.removed_mm3 === undefined ? '–' : format.withUnit(format.fixed(sum.removed_mm3, 2), 'mm³')))}
        {line(<From of="wallLeft">{t('orders.transport')}</From>, (sum) => (sum.transport_mm === undefined ? '–' : format.width(sum.transport_mm)))}
      </tbody>
    </table>
  );
}

/** Instruments left out for one kind of reason: each with its sentence where the canal decides, together where the drawer does. */
function Unused({ because, instruments }: { because: Because; instruments: readonly UnusedInstrument[] }) {
  const ofTheDrawer = because === 'length' || because === 'twin' || because === 'stock';
  return (
    <>
      <h5>{t(`orders.because.${because}`, { n: instruments.length })}</h5>
      {ofTheDrawer ? (
        <p class="drawer">
          {instruments.map((u) => (
            <span key={u.device} title={said(u.why)}>
              {short(u.device)}
            </span>
          ))}
        </p>
      ) : (
        <ul class="notes">
          {instruments.map((u) => (
            <li key={u.device}>{said(u.why)}</li>
          ))}
        </ul>
      )}
    </>
  );
}

function About({ canal }: { canal: CanalPlan }) {
  const risks = risksOf(canal);
  const unused = unusedOf(canal);
  return (
    <article aria-label={t('plan.canal', { canal: canal.canal })}>
      <h3>{t('plan.canal', { canal: canal.canal })}</h3>
      {risks && (
        <>
          <h4>
            <From of="risk">{t('orders.risks')}</From>
          </h4>
          <p>{said(risks.sentence)}</p>
          <ul class="notes">
            {risks.risks
              .filter((r) => r.probability > 0.005)
              .map((r) => (
                <li key={r.kind}>
                  <b class="number">{format.probability(r.probability)}</b> {said(r.sentence)}
                </li>
              ))}
          </ul>
        </>
      )}
      <h4>{t('plan.notes')}</h4>
      {canal.notes.length === 0 && <p>{t('orders.nothingMissing')}</p>}
      <ul class="notes">
        {canal.notes.map((note, i) => (
          <li key={i}>{said(note)}</li>
        ))}
      </ul>
      {unused.length > 0 && (
        <details>
          <summary>{t('orders.unused', { n: unused.length })}</summary>
          {unusedByReason(canal).map(({ because, instruments }) => (
            <Unused key={because} because={because} instruments={instruments} />
          ))}
        </details>
      )}
    </article>
  );
}
