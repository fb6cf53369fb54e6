import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { Canal, Device } from '../api/documents';
import { deviceLabel, filterDevices, sizeColour } from '../model/device';
import * as format from '../model/format';
import { passageKey, rowId } from '../model/state';
import { store } from '../model/store';
import { t } from '../model/words';
import { Message } from '../view/Message';

/** The devices at hand for one canal, with how far each goes in it. */
export function DeviceChooser({ canal }: { canal: Canal }) {
  const { tray } = store.state.work;
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  return (
    <dialog class="card chooser" ref={dialog} aria-labelledby="chooser-title" onClose={() => store.chooseDeviceFor(null)}>
      <header>
        <h2 id="chooser-title">{t('tray.title', { canal: canal.name })}</h2>
        <button type="button" onClick={() => dialog.current?.close()}>
          {t('app.close')}
        </button>
      </header>
      {tray.value.state === 'failed' && <Message sentence={tray.value.sentence} />}
      {tray.value.state === 'waiting' && <p class="soft">{t('app.loading')} …</p>}
      {tray.value.state === 'ready' && <Choosing devices={tray.value.value.devices} canal={canal} />}
    </dialog>
  );
}

/** How far a device goes in a canal; undefined while that is worked out. */
function reachOf(canal: string, device: string): { mm: number; why: string } | undefined {
  const passages = store.state.work.passages.value;
  const passage = passages.state === 'ready' ? passages.value.get(passageKey(canal, device)) : undefined;
  return passage && { mm: passage.reaches_mm, why: t(`stop.${passage.stopped_by}`) };
}

function Choosing({ devices, canal }: { devices: readonly Device[]; canal: Canal }) {
  const text = useSignal('');
  const kind = useSignal('');
  const depth = useSignal('');
  const plan = store.state.work.plan.value;
  const work = plan.state === 'ready' ? plan.value.canals.find((c) => c.canal === canal.name)?.working_depth_mm : undefined;
  const wish = depth.value === 'foramen' ? canal.depth_to_foramen_mm - 0.05 : depth.value === 'work' && work !== undefined ? work - 0.05 : null;
  const found = filterDevices(devices, { text: text.value, kind: kind.value, reaches_mm: wish }, (id) => reachOf(canal.name, id)?.mm);
  const kinds = [...new Set(devices.map((d) => d.kind))];
  return (
    <>
      <div class="wishes">
        <input
          type="search"
          aria-label={t('tray.search')}
          placeholder={t('tray.search')}
          value={text.value}
          onInput={(event) => (text.value = event.currentTarget.value)}
        />
        <label>
          {t('tray.kind')}{' '}
          <select value={kind.value} onChange={(event) => (kind.value = event.currentTarget.value)}>
            <option value="">{t('tray.allKinds')}</option>
            {kinds.map((k) => (
              <option key={k} value={k}>
                {t(`kind.${k}`)}
              </option>
            ))}
          </select>
        </label>
        <label>
          {t('tray.reaches')}{' '}
          <select value={depth.value} onChange={(event) => (depth.value = event.currentTarget.value)}>
            <option value="">{t('tray.reachesAny')}</option>
            {work !== undefined && <option value="work">{t('tray.reachesWork', { depth: format.depth(work) })}</option>}
            <option value="foramen">{t('tray.reachesForamen', { depth: format.depth(canal.depth_to_foramen_mm) })}</option>
          </select>
        </label>
      </div>
      <p class="soft" role="status">
        {t('tray.count', { n: found.length, all: devices.length })}
      </p>
      <div class="found" tabIndex={0} role="region" aria-label={t('tray.title', { canal: canal.name })}>
        {found.length === 0 ? <p class="soft">{t('tray.none')}</p> : <Found list={found} canal={canal} />}
      </div>
    </>
  );
}

function Found({ list, canal }: { list: readonly Device[]; canal: Canal }) {
  const rows = store.state.work.rows.value;
  const waiting = store.state.work.passages.value.state === 'waiting';
  return (
    <table>
      <thead>
        <tr>
          <th scope="col">{t('tray.col.device')}</th>
          <th scope="col" class="right">
            {t('tray.col.length')}
          </th>
          <th scope="col" class="right">
            {t('tray.col.stock')}
          </th>
          <th scope="col" class="right">
            {t('tray.col.reach')}
          </th>
        </tr>
      </thead>
      <tbody>
        {list.map((device) => {
          const reach = reachOf(canal.name, device.id);
          const inLane = rows.some((r) => r.id === rowId(canal.name, device.id, null));
          return (
            <tr key={device.id}>
              <td>
                <button
                  type="button"
                  class="plain"
                  onClick={() => {
                    store.rehearsal.add(canal.name, device.id);
                    store.chooseDeviceFor(null);
                  }}
                >
                  <i class={`size ${sizeColour(device) ?? 'none'}`} aria-hidden="true" />
                  {deviceLabel(device)}
                </button>
                {inLane && <span class="soft"> {t('tray.inLane')}</span>}
              </td>
              <td class="right number">{format.withUnit(format.fixed(device.length_mm, 0), 'mm')}</td>
              <td class="right number">{device.stock ?? '–'}</td>
              <td class="right number">
                {reach ? format.depth(reach.mm) : waiting ? '…' : ''} <span class="soft">{reach?.why ?? (waiting ? '' : t('tray.noReach'))}</span>
              </td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}
