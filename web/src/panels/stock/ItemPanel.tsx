import { useSignal } from '@preact/signals';
import { shelfLabel } from '../../model/device';
import { said } from '../../model/said';
import { may } from '../../model/session';
import { KINDS, type Movement, type NewMovement, type StockItem, busy, expiryOf, move, movements, putItem, today } from '../../model/stock';
import { t } from '../../model/words';
import { Choice } from '../../view/Choice';
import { Message } from '../../view/Message';

/** One item: how it stands, its lots, what is done with its pieces, and what was. */
export function ItemPanel({ item }: { item: StockItem }) {
  return (
    <aside class="card stock-item" aria-labelledby="item-title">
      <h2 id="item-title">{shelfLabel(item.device)}</h2>
      <Figures item={item} />
      {item.overdrawn > 0 && <Message sentence={t('stock.overdrawn', { n: item.overdrawn })} />}
      <Lots item={item} />
      {may('assistant') && <Moving item={item} />}
      {may('assistant') && <Limits item={item} />}
      <h3>{t('stock.happened')}</h3>
      <Happened />
    </aside>
  );
}

function Figures({ item }: { item: StockItem }) {
  const figures: [string, string | number][] = [
    [t('stock.col.ready'), item.ready],
    [t('stock.col.sterilise'), item.to_sterilise],
    [t('stock.past'), item.expired],
    [t('stock.col.uses'), item.max_uses === 1 ? t('stock.single') : item.uses_left],
    [t('stock.used'), item.times_used],
  ];
  return (
    <dl class="figures">
      {figures.map(([what, value]) => (
        <div key={what}>
          <dt class="soft">{what}</dt>
          <dd class="number">{value}</dd>
        </div>
      ))}
    </dl>
  );
}

function Lots({ item }: { item: StockItem }) {
  const lots = item.lots.filter((lot) => lot.pieces > 0);
  if (lots.length === 0) return <p class="soft">{t('stock.noLots')}</p>;
  return (
    <table>
      <caption class="unseen">{t('stock.lots')}</caption>
      <thead>
        <tr>
          <th scope="col">{t('stock.lot')}</th>
          <th scope="col">{t('stock.col.expires')}</th>
          <th scope="col" class="right">{t('stock.pieces')}</th>
        </tr>
      </thead>
      <tbody>
        {lots.map((lot) => {
          const state = expiryOf(lot.expires, today());
          return (
            <tr key={lot.lot}>
              <td>{lot.lot || '–'}</td>
              <td>
                {lot.expires || '–'} {(state === 'soon' || state === 'past') && <b class={`expiry-${state}`}>{t(`stock.expiry.${state}`)}</b>}
              </td>
              <td class="right number">{lot.pieces}</td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}

/** Counting in, a sterilisation cycle, and throwing away. Uses come from the treatment log alone. */
function Moving({ item }: { item: StockItem }) {
  const kind = useSignal<NewMovement['kind']>('received');
  const again = useSignal(0);
  const submit = (form: HTMLFormElement): void => {
    const given = new FormData(form);
    const text = (name: string): string => String(given.get(name) ?? '').trim();
    const movement: NewMovement = { item: item.id, kind: kind.value, count: Number(text('count')) };
    for (const key of ['lot', 'expires', 'note'] as const) if (text(key) !== '') movement[key] = text(key);
    void move(movement).then((done) => done && form.reset());
  };
  // A device of a single use is thrown away after it.
  const kinds = KINDS.filter((one) => one !== 'sterilised' || item.max_uses !== 1);
  return (
    <form
      class="moving"
      onSubmit={(event) => {
        event.preventDefault();
        submit(event.currentTarget);
      }}
      // A reset would also take the choice away.
      onReset={() => queueMicrotask(() => (again.value += 1))}
    >
      <Choice key={again.value} name="movement" label={t('stock.do')} value={kind.value} options={kinds.map((value) => ({ value, text: t(`stock.do.${value}`) }))} choose={(value) => (kind.value = value)} />
      <div class="fields">
        <label>
          {t('stock.pieces')}
          <input name="count" type="number" min={1} max={100000} step={1} required defaultValue="1" />
        </label>
        {kind.value !== 'sterilised' && (
          <label>
            {t('stock.lot')}
            <input name="lot" type="text" maxLength={100} autocomplete="off" list="item-lots" />
          </label>
        )}
        {kind.value === 'received' && (
          <label>
            {t('stock.expiresOn')}
            <input name="expires" type="date" />
          </label>
        )}
        <label class="wide">
          {t(`stock.note.${kind.value}`)}
          <input name="note" type="text" maxLength={300} autocomplete="off" required={kind.value === 'sterilised'} />
        </label>
      </div>
      <datalist id="item-lots">
        {item.lots.map((lot) => (
          <option key={lot.lot} value={lot.lot} />
        ))}
      </datalist>
      <button type="submit" class="act" disabled={busy.value}>
        {t(`stock.do.${kind.value}.button`)}
      </button>
      <p class="soft">{t('stock.usesHelp')}</p>
    </form>
  );
}

function Limits({ item }: { item: StockItem }) {
  const submit = (form: HTMLFormElement): void => {
    const given = new FormData(form);
    void putItem({ ...item.device, max_uses: Number(given.get('uses')) }, Number(given.get('minimum')));
  };
  return (
    <form
      class="limits"
      onSubmit={(event) => {
        event.preventDefault();
        submit(event.currentTarget);
      }}
    >
      <label>
        {t('stock.col.minimum')}
        <input name="minimum" type="number" min={0} max={100000} step={1} required defaultValue={String(item.minimum)} />
      </label>
      <label>
        {t('stock.uses')}
        <input name="uses" type="number" min={1} max={1000} step={1} required defaultValue={String(item.max_uses)} />
      </label>
      <button type="submit" disabled={busy.value}>
        {t('stock.limits')}
      </button>
    </form>
  );
}

function Happened() {
  const list = movements.value;
  if (list.state === 'waiting') return <p class="soft">{t('app.loading')} …</p>;
  if (list.state === 'failed') return <Message sentence={list.sentence} />;
  if (list.value.length === 0) return <p class="soft">{t('stock.nothing')}</p>;
  return (
    <ol class="happened">
      {list.value.map((one, at) => (
        <li key={at}>{line(one)}</li>
      ))}
    </ol>
  );
}

function line(one: Movement): string {
  const about = [one.lot && `${t('stock.lot')} ${one.lot}`, one.expires && t('stock.until', { date: one.expires }), said(one.note), one.author].filter(Boolean).join(' · ');
  return `${one.made.slice(0, 10)}: ${t(`stock.did.${one.kind}`, { n: one.count })}${about === '' ? '' : ` · ${about}`}`;
}
