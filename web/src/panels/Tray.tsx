import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { Canal, Device } from '../api/documents';
import { canalsOf, findCanal } from '../model/actions/work';
import { deviceLabel, filterDevices, sizeColour } from '../model/device';
import * as format from '../model/format';
import { passageKey, rowId } from '../model/state';
import { said } from '../model/said';
import { store } from '../model/store';
import { t } from '../model/words';
import { Message } from '../view/Message';
import { VirtualList } from '../view/VirtualList';
import { useDragToLane } from './useDragToLane';

/** The devices at hand, with how far each goes in a canal; one is put into a lane by dragging it there or by a press. */
export function Tray() {
  const { tray, trayFor, cursor } = store.state.work;
  const canals = canalsOf(store.state);
  const canal = findCanal(store.state, trayFor.value ?? cursor.value?.canal ?? '') ?? canals[0];
  if (tray.value.state === 'failed') return <Message sentence={tray.value.sentence} />;
  if (tray.value.state === 'waiting' || !canal) return <p class="soft">{t('app.loading')} …</p>;
  return (
    <div class="tray">
      <Choosing devices={tray.value.value.devices} canal={canal} canals={canals} />
    </div>
  );
}

/** How far a device goes in a canal; undefined while that is worked out. */
function reachOf(canal: string, device: string): { mm: number; stop: string; why: string } | undefined {
  const passages = store.state.work.passages.value;
  const passage = passages.state === 'ready' ? passages.value.get(passageKey(canal, device)) : undefined;
  return passage && { mm: passage.reaches_mm, stop: t(`stop.${passage.stopped_by}`), why: said(passage.why ?? '') };
}

function Choosing({ devices, canal, canals }: { devices: readonly Device[]; canal: Canal; canals: readonly Canal[] }) {
  const text = useSignal('');
  const kind = useSignal('');
  const depth = useSignal('');
  const search = useRef<HTMLInputElement>(null);
  const { trayFor } = store.state.work;
  // Opened by a lane's button, the search is where the hands go next.
  useEffect(() => {
    if (trayFor.value !== null) search.current?.focus();
  }, [trayFor.value]);
  const plan = store.state.work.plan.value;
  const work = plan.state === 'ready' ? plan.value.canals.find((c) => c.canal === canal.name)?.working_depth_mm : undefined;
  const wish = depth.value === 'foramen' ? canal.depth_to_foramen_mm - 0.05 : depth.value === 'work' && work !== undefined ? work - 0.05 : null;
  const found = filterDevices(devices, { text: text.value, kind: kind.value, reaches_mm: wish }, (id) => reachOf(canal.name, id)?.mm);
  const kinds = [...new Set(devices.map((d) => d.kind))];
  return (
    <>
      <div class="wishes">
        <input ref={search} type="search" aria-label={t('tray.search')} placeholder={t('tray.search')} value={text.value} onInput={(event) => (text.value = event.currentTarget.value)} />
        <label>
          {t('tray.canal')}{' '}
          <select value={canal.name} onChange={(event) => store.setTrayFor(event.currentTarget.value)}>
            {canals.map((c) => (
              <option key={c.name} value={c.name}>
                {c.name}
              </option>
            ))}
          </select>
        </label>
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
        {t('tray.count', { n: found.length, all: devices.length })} · {t('tray.dragHelp')}
      </p>
      {found.length === 0 ? <p class="soft">{t('tray.none')}</p> : <Found list={found} canal={canal.name} />}
    </>
  );
}

/** Heights a row is drawn with; large enough for a gloved finger. */
const ROW_PX = 56;

function Found({ list, canal }: { list: readonly Device[]; canal: string }) {
  const drag = useDragToLane((to, device) => store.rehearsal.add(to, device));
  return (
    <>
      <VirtualList
        label={t('tray.title', { canal })}
        count={list.length}
        row_px={ROW_PX}
        row={(i) => {
          const device = list[i];
          return device ? <DeviceLine device={device} canal={canal} begin={drag.begin} /> : null;
        }}
      />
      {drag.over.value && (
        <div class="dragged" aria-hidden="true" style={{ left: `${drag.over.value.x}px`, top: `${drag.over.value.y}px` }}>
          {store.device(drag.over.value.device) && deviceLabel(store.device(drag.over.value.device) as Device)}
          {drag.over.value.canal !== null && ` → ${drag.over.value.canal}`}
        </div>
      )}
    </>
  );
}

function DeviceLine({ device, canal, begin }: { device: Device; canal: string; begin: (event: PointerEvent, device: string) => void }) {
  const reach = reachOf(canal, device.id);
  const inLane = store.state.work.rows.value.some((r) => r.id === rowId(canal, device.id, null));
  const waiting = store.state.work.passages.value.state === 'waiting';
  const label = deviceLabel(device);
  return (
    <button
      type="button"
      class="plain device-line"
      title={reach?.why}
      onPointerDown={(event) => begin(event, device.id)}
      onClick={() => store.rehearsal.add(canal, device.id)}
    >
      <span class="grip" aria-hidden="true">
        ⠿
      </span>
      <i class={`size ${sizeColour(device) ?? 'none'}`} aria-hidden="true" />
      <span class="name">
        {label} {inLane && <span class="soft">{t('tray.inLane')}</span>}
        {device.stock !== undefined && <span class="soft facts number">{t('tray.inStock', { n: device.stock })}</span>}
      </span>
      <span class="number reach">
        {reach ? format.depth(reach.mm) : waiting ? '…' : ''}
        <span class="soft">{reach?.stop ?? (waiting ? '' : t('tray.noReach'))}</span>
      </span>
      <span class="unseen">{t('tray.put', { canal })}</span>
    </button>
  );
}
