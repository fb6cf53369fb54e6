import { useComputed } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { Canal, CanalPlan, Plan } from '../api/documents';
import { passageOf } from '../model/actions/work';
import * as format from '../model/format';
import { wantedOf } from '../model/lanes';
import { type Scale, factorsFor, spanOf, toPx } from '../model/ruler';
import { type Row, passageKey } from '../model/state';
import { store } from '../model/store';
import { t } from '../model/words';
import { Choice } from '../view/Choice';
import { Axis } from '../view/ruler/Axis';
import { STRIP_PX, bandHeight } from '../view/ruler/CanalBand';
import { DeviceRow, PROFILE_PX, ROW_PX } from '../view/ruler/DeviceRow';
import { Lane } from '../view/ruler/Lane';
import { Legend } from '../view/ruler/Legend';
import { useSize } from '../view/useSize';
import { HistoryButtons } from './HistoryButtons';


/** Widths in px of what stands left and right of the scale. */
const LABEL_PX = 162;
const MARGIN_PX = 132;
const BAND_PX = { least: 52, good: 72, most: 110 };
const AXIS_PX = 30;
const LANE_GAP_PX = 14;

export function Ruler({ canals }: { canals: readonly Canal[] }) {
  const { ref, width, height } = useSize<HTMLDivElement>();
  const { span, rows, passages, folded } = store.state.work;
  const open = rows.value.filter((row) => !folded.value.has(row.canal));
  const plot = Math.max(160, width - LABEL_PX - 4);
  const scale: Scale = { ...spanOf(canals, span.value), left_px: 8, width_px: Math.max(100, plot - 8 - MARGIN_PX) };
  const band_px = bandFor(canals.length, open.length, height);
  const factors = factorsFor(canals, band_px, scale);
  useFirstFolding(canals, rows.value.length, height);
  const scales = `${t('ruler.canalFactor', { n: format.plain(factors.canal) })} · ${t('ruler.wallFactor', { n: format.plain(factors.wall) })}`;
  return (
    <section class="card ruler" aria-labelledby="ruler-title">
      <div class="ruler-head">
        <h2 id="ruler-title">{t('ruler.title')}</h2>
        <p class="soft" title={scales}>
          {scales}
          {passages.value.state === 'waiting' && <span role="status"> · {t('ruler.waiting')} …</span>}
        </p>
        <HistoryButtons />
        <Legend />
        <Choice
          name="span"
          label={t('ruler.span')}
          value={span.value}
          options={[
            { value: 'whole', text: t('ruler.span.whole') },
            { value: 'canals', text: t('ruler.span.canals') },
          ]}
          choose={(value) => store.setSpan(value)}
        />
      </div>
      <div class="ruler-scroll" ref={ref} style={{ '--label': `${LABEL_PX}px`, '--band': `${band_px}px`, '--strip': `${STRIP_PX}px` }}>
        {width > 0 && (
          <div class="ruler-sheet">
            <div class="axis-row">
              <Axis scale={scale} width={plot} />
              <CursorBubble scale={scale} />
            </div>
            {canals.map((canal) => (
              <Lane
                key={canal.name}
                canal={canal}
                cursor={store.state.work.cursor}
                scale={scale}
                factors={factors}
                width={plot}
                band_px={band_px}
                workingDepth_mm={planned(canal.name)?.working_depth_mm ?? null}
                joins={planned(canal.name)?.ends_at_join?.canal ?? null}
                left={planned(canal.name)?.removal?.along ?? null}
                hover={store.hover}
                pin={store.pin}
                bars={rows.value.filter((row) => row.canal === canal.name).length}
                folded={folded.value.has(canal.name)}
                fold={() => store.fold(canal.name)}
                addDevice={() => store.chooseDeviceFor(canal.name)}
                showOrigin={store.showOrigin}
              >
                {open
                  .filter((row) => row.canal === canal.name)
                  .map((row) => (
                    <Bar key={row.id} row={row} scale={scale} width={plot} />
                  ))}
              </Lane>
            ))}
            {canals.length === 0 && <p class="no-canals">{t('ruler.noCanals')}</p>}
            <CursorLine scale={scale} />
          </div>
        )}
      </div>
    </section>
  );
}

/** When not all bars fit at first, only the first canal's are open: canals compare by lying under each other. */
function useFirstFolding(canals: readonly Canal[], bars: number, height_px: number): void {
  const decided = useRef(false);
  useEffect(() => {
    if (decided.current || bars === 0 || height_px === 0) return;
    decided.current = true;
    const needed = AXIS_PX + canals.length * (bandHeight(BAND_PX.good, leavesWalls()) + LANE_GAP_PX) + bars * ROW_PX + PROFILE_PX;
    const first = canals[0];
    if (needed > height_px && first) store.foldAllBut(first.name);
  });
}

/** Band height that fills the room there is; beyond its least the ruler scrolls. */
function bandFor(lanes: number, bars: number, height_px: number): number {
  const strips = bandHeight(0, leavesWalls()) + LANE_GAP_PX;
  const free = height_px - AXIS_PX - bars * ROW_PX - lanes * strips - PROFILE_PX - 12;
  return Math.round(Math.min(BAND_PX.most, Math.max(BAND_PX.least, free / Math.max(lanes, 1))));
}

function planOf(): Plan | null {
  const { plan } = store.state.work;
  return plan.value.state === 'ready' ? plan.value.value : null;
}

const planned = (canal: string): CanalPlan | undefined => planOf()?.canals.find((c) => c.canal === canal);
const leavesWalls = (): boolean => planOf()?.canals.some((c) => c.removal?.along) ?? false;

function Bar({ row, scale, width }: { row: Row; scale: Scale; width: number }) {
  const w = store.state.work;
  const own = w.passages.value.state === 'ready' ? w.passages.value.value.get(passageKey(row.canal, row.device)) : undefined;
  // Computed, so that a bar is drawn anew for news of its own only and not of another that is dragged.
  const held = useComputed(() => w.held.value.get(row.id)).value;
  const passage = useComputed(() => passageOf(store.state, row)).value;
  const plan = planOf();
  const ofPlan = row.planPassage === null ? undefined : plan?.passages[row.planPassage];
  return (
    <DeviceRow
      row={row}
      device={store.device(row.device)}
      passage={passage}
      reach_mm={ofPlan?.reaches_mm ?? own?.reaches_mm ?? w.profiles.value.get(row.id)?.reaches_mm}
      held={held}
      state={ofPlan?.canal_state}
      wanted={plan && row.planPassage !== null ? wantedOf(plan, row.planPassage) : undefined}
      selected={w.selected.value?.id === row.id}
      scale={scale}
      width={width}
      select={() => store.rehearsal.select(row)}
      remove={() => store.rehearsal.remove(row)}
      drag={(tip) => store.rehearsal.drag(row, tip)}
      letGo={() => store.rehearsal.letGo(row)}
    />
  );
}

/** The cursor over all lanes. Its own component, so that moving it redraws nothing else. */
function CursorLine({ scale }: { scale: Scale }) {
  const cursor = store.state.work.cursor.value;
  if (!cursor || cursor.depth_mm < scale.from_mm) return null;
  return <div class="cursor-line" style={{ left: `${LABEL_PX + toPx(scale, cursor.depth_mm)}px` }} aria-hidden="true" />;
}

function CursorBubble({ scale }: { scale: Scale }) {
  const cursor = store.state.work.cursor.value;
  if (!cursor || cursor.depth_mm < scale.from_mm) return null;
  return (
    <div class="cursor-bubble" style={{ left: `${LABEL_PX + toPx(scale, cursor.depth_mm)}px` }} aria-hidden="true">
      {format.fixed(cursor.depth_mm, 1)}
    </div>
  );
}
