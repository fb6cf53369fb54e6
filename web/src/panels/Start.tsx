import { useSignal } from '@preact/signals';
import type { JSX } from "preact";
import type { CaseSummary, Scan } from '../api/documents';
import * as format from '../model/format';
import { formatRoute } from '../model/route';
import type { Fetched } from '../model/state';
import { may } from '../model/session';
import { store } from '../model/store';
import { t, toothName, toothNumber } from '../model/words';
import { FilePress } from '../view/FilePress';
import { Invented } from '../view/Invented';
import { Message } from '../view/Message';

export function Start() {
  const { scans, cases } = store.state.start;
  return (
    <div class="start">
      <h1 class="unseen">{t('start.title')}</h1>
      <Opening />
      <section class="card listing" aria-labelledby="cases-title">
        <h2 id="cases-title">{t('start.cases')}</h2>
        <Listed list={cases.value} empty={t('start.noCases')} table={(list) => <Cases list={list} />} />
      </section>
      <section class="card listing" aria-labelledby="scans-title">
        <h2 id="scans-title">{t('start.scans')}</h2>
        <Listed list={scans.value} empty={t('start.noScans')} table={(list) => <Scans list={list} />} />
      </section>
    </div>
  );
}

/** Opening by path and by file; a dropped file counts as chosen. */
function Opening() {
  const over = useSignal(false);
  const path = useSignal('');
  const { busy, sentence, candidates } = store.state.start;
  const drop = (event: DragEvent): void => {
    event.preventDefault();
    over.value = false;
    void store.upload([...(event.dataTransfer?.files ?? [])]);
  };
  const choice = candidates.value;
  return (
    <section
      class={`card opening ${over.value ? 'over' : ''}`}
      aria-labelledby="open-title"
      onDragOver={(event) => {
        event.preventDefault();
        over.value = true;
      }}
      onDragLeave={() => (over.value = false)}
      onDrop={drop}
    >
      <h2 id="open-title">{t('start.open')}</h2>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void store.openScan({ path: path.value.trim() });
        }}
      >
        <label for="scan-path">{t('start.path')}</label>
        <input
          id="scan-path"
          type="text"
          autocomplete="off"
          spellcheck={false}
          placeholder={t('start.pathHint')}
          value={path.value}
          onInput={(event) => (path.value = event.currentTarget.value)}
        />
        <button class="act" type="submit" disabled={path.value.trim() === '' || busy.value !== null}>
          {t('start.openButton')}
        </button>
      </form>
      <div class="file">
        <FilePress id="scan-file" text={t('start.choose')} accept="" disabled={busy.value !== null} take={(file) => void store.upload([file])} />
        <span class="soft drop">{over.value ? t('start.dropNow') : t('start.drop')}</span>
        {may('clinician') && <FilePress id="case-archive" text={t('start.archive')} accept=".zip,application/zip" disabled={busy.value !== null} take={(file) => void store.takeArchive(file)} />}
      </div>
      <p role="status" class="soft">
        {busy.value !== null && `${busy.value} …`}
      </p>
      {sentence.value !== null && <Message sentence={sentence.value} dismiss={() => store.clearStartMessage()} />}
      {choice && (
        <div class="series">
          <h3>{t('start.several')}</h3>
          <ul>
            {choice.series.map((s) => (
              <li key={s.series_uid}>
                <span>{s.description || t('start.unnamedSeries')}</span>
                <span class="soft number">{t('start.slices', { n: s.slices })}</span>
                <button type="button" onClick={() => void store.openScan(choice.source, s.series_uid)}>
                  {t('start.openButton')}
                </button>
              </li>
            ))}
          </ul>
        </div>
      )}
    </section>
  );
}

function Listed<T>({ list, empty, table }: { list: Fetched<T[]>; empty: string; table: (list: T[]) => JSX.Element }) {
  if (list.state === 'waiting') return <p class="soft">{t('app.loading')} …</p>;
  if (list.state === 'failed') return <Message sentence={list.sentence} />;
  return list.value.length === 0 ? <p class="soft">{empty}</p> : table(list.value);
}

function extent(scan: Scan): string {
  const { size, spacing_mm } = scan.geometry;
  return format.withUnit(size.map((n, a) => format.fixed(n * (spacing_mm[a] ?? 0), 0)).join(' × '), 'mm');
}

function Scans({ list }: { list: Scan[] }) {
  return (
    <table>
      <thead>
        <tr>
          <th scope="col">{t('start.col.scan')}</th>
          <td />
          <th scope="col" class="right">
            {t('start.col.voxel')}
          </th>
          <th scope="col" class="right">
            {t('start.col.size')}
          </th>
          <th scope="col">
            <span class="unseen">{t('start.col.act')}</span>
          </th>
        </tr>
      </thead>
      <tbody>
        {list.map((scan) => (
          <tr key={scan.id}>
            <td>{scan.label}</td>
            <td>{scan.invented && <Invented />}</td>
            <td class="right number">{format.voxel(scan.geometry.spacing_mm)}</td>
            <td class="right number">{extent(scan)}</td>
            <td>
              <a href={formatRoute({ page: 'locate', scan: scan.id })}>{t('start.mark')}</a>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Cases({ list }: { list: CaseSummary[] }) {
  return (
    <table>
      <thead>
        <tr>
          <th scope="col">{t('start.col.tooth')}</th>
          <th scope="col">{t('start.col.label')}</th>
          <td />
          <th scope="col" class="right">
            {t('start.col.date')}
          </th>
          <th scope="col">
            <span class="unseen">{t('start.col.act')}</span>
          </th>
        </tr>
      </thead>
      <tbody>
        {list.map((item) => (
          <tr key={item.id}>
            <td>
              {toothNumber(item.fdi)} {toothName(item.fdi)}
            </td>
            <td>{item.label}</td>
            <td>{item.invented && <Invented />}</td>
            <td class="right number">{when(item.created)}</td>
            <td>
              <a href={formatRoute({ page: 'work', caseId: item.id })}>{t('start.ruler')}</a>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** Date and time in the order of ISO 8601, in local time. */
function when(created: string): string {
  const date = new Date(created);
  if (Number.isNaN(date.getTime())) return created;
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())} ${two(date.getHours())}:${two(date.getMinutes())}`;
}
