import { useSignal } from '@preact/signals';
import { shelfLabel } from '../../model/device';
import { fetchFile, fetching, outcome } from '../../model/downloads';
import { may } from '../../model/session';
import { type StockAnswer, type StockItem, VIEWS, busy, choose, chosen, firstExpiry, itemExpiry, putItem, reorder, sentence, shown, stock, takeCsv, today, view } from '../../model/stock';
import { t } from '../../model/words';
import { Choice } from '../../view/Choice';
import { FilePress } from '../../view/FilePress';
import { Message } from '../../view/Message';
import { saveFile } from '../../view/save-file';
import { ItemPanel } from './ItemPanel';

/** What the practice has of every device, what expires, what is to be sterilised and what to be ordered. */
export function StockPage() {
  const now = stock.value;
  return (
    <div class="stock">
      <section class="card stock-list" aria-labelledby="stock-title">
        <header>
          <h1 id="stock-title">{t('stock.title')}</h1>
          <Csv />
        </header>
        {sentence.value !== null && <Message sentence={sentence.value} dismiss={() => (sentence.value = null)} />}
        {outcome.value?.sentence && <Message sentence={outcome.value.sentence} dismiss={() => (outcome.value = null)} />}
        {now.state === 'waiting' && <p class="soft">{t('app.loading')} …</p>}
        {now.state === 'failed' && <Message sentence={now.sentence} />}
        {now.state === 'ready' && <Ready answer={now.value} />}
      </section>
      {now.state === 'ready' && <Beside items={now.value.items} />}
    </div>
  );
}

function Csv() {
  return (
    <div class="csv">
      <button type="button" disabled={fetching.value !== null} onClick={() => void fetchFile('api/stock/stock.csv', 'CSV', (file) => saveFile(file.name, file.bytes))}>
        {t('stock.saveCsv')}
      </button>
      {may('assistant') && <FilePress id="stock-csv" text={t('stock.takeCsv')} accept=".csv,text/csv" disabled={busy.value} take={(file) => void file.text().then(takeCsv)} />}
    </div>
  );
}

function Ready({ answer }: { answer: StockAnswer }) {
  const day = today();
  const counts = Object.fromEntries(VIEWS.map((one) => [one, shown(answer.items, reorder.value, one, day).length]));
  const list = shown(answer.items, reorder.value, view.value, day);
  return (
    <>
      {answer.items.length === 0 ? (
        <p>{t('stock.empty')}</p>
      ) : (
        <Choice name="stock-view" label={t('stock.view')} value={view.value} options={VIEWS.map((value) => ({ value, text: `${t(`stock.view.${value}`)} · ${counts[value]}` }))} choose={(value) => (view.value = value)} />
      )}
      {may('assistant') && <Adding answer={answer} />}
      {answer.items.length > 0 && (list.length === 0 ? <p class="soft">{t(`stock.none.${view.value}`)}</p> : <Items list={list} />)}
    </>
  );
}

/** Takes one of the devices that are not in stock yet into it. */
function Adding({ answer }: { answer: StockAnswer }) {
  const picked = useSignal('');
  const device = answer.addable.find((one) => one.id === picked.value);
  if (answer.addable.length === 0) return null;
  return (
    <form
      class="adding"
      onSubmit={(event) => {
        event.preventDefault();
        if (!device) return;
        picked.value = '';
        void putItem(device, 0);
      }}
    >
      <label>
        {t('stock.add')}{' '}
        <select value={picked.value} onChange={(event) => (picked.value = event.currentTarget.value)}>
          <option value="">{t('stock.add.choose', { n: answer.addable.length })}</option>
          {answer.addable.map((one) => (
            <option key={one.id} value={one.id}>
              {shelfLabel(one)}
            </option>
          ))}
        </select>
      </label>
      <button type="submit" disabled={!device || busy.value}>
        {t('stock.add.button')}
      </button>
    </form>
  );
}

function Items({ list }: { list: readonly StockItem[] }) {
  const ordering = view.value === 'order';
  return (
    <table>
      <thead>
        <tr>
          <th scope="col">{t('stock.col.item')}</th>
          <th scope="col" class="right">
            {t('stock.col.ready')}
          </th>
          {ordering ? (
            <>
              <th scope="col" class="right">{t('stock.col.coming')}</th>
              <th scope="col" class="right">{t('stock.col.minimum')}</th>
              <th scope="col" class="right">{t('stock.col.order')}</th>
            </>
          ) : (
            <>
              <th scope="col" class="right">{t('stock.col.sterilise')}</th>
              <th scope="col" class="right">{t('stock.col.uses')}</th>
              <th scope="col">{t('stock.col.expires')}</th>
            </>
          )}
        </tr>
      </thead>
      <tbody>
        {list.map((item) => (
          <tr key={item.id} class={chosen.value === item.id ? 'chosen' : ''}>
            <th scope="row">
              <button type="button" class="plain" aria-pressed={chosen.value === item.id} onClick={() => void choose(item.id)}>
                {shelfLabel(item.device)}
              </button>
            </th>
            <td class="right number">{item.ready}</td>
            {ordering ? <OrderCells item={item} /> : <StateCells item={item} />}
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function StateCells({ item }: { item: StockItem }) {
  const state = itemExpiry(item, today());
  return (
    <>
      <td class="right number">{item.to_sterilise || '–'}</td>
      <td class="right number">{item.max_uses === 1 ? t('stock.single') : item.uses_left}</td>
      <td>
        {firstExpiry(item) || '–'} {(state === 'soon' || state === 'past') && <b class={`expiry-${state}`}>{t(`stock.expiry.${state}`)}</b>}
      </td>
    </>
  );
}

function OrderCells({ item }: { item: StockItem }) {
  const line = reorder.value.find((one) => one.id === item.id);
  return (
    <>
      <td class="right number">{line?.coming ?? 0}</td>
      <td class="right number">{line?.minimum ?? 0}</td>
      <td class="right number">
        <b>{line?.order ?? 0}</b>
      </td>
    </>
  );
}

function Beside({ items }: { items: readonly StockItem[] }) {
  const item = items.find((one) => one.id === chosen.value);
  if (item) return <ItemPanel key={item.id} item={item} />;
  return (
    <aside class="card stock-item">
      <p class="soft">{items.length === 0 ? t('stock.how') : t('stock.choose')}</p>
    </aside>
  );
}
