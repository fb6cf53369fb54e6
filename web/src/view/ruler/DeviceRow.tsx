import { useRef } from 'preact/hooks';
import type { Device, Passage } from '../../api/documents';
import { deviceLabel, shortLabel, sizeColour } from '../../model/device';
import * as format from '../../model/format';
import { type Scale, curveLine, toDepth, toPx } from '../../model/ruler';
import type { Wanted } from '../../model/lanes';
import type { Held, Row } from '../../model/state';
import { t } from '../../model/words';

/** A finger needs more room than a mouse. */
export const ROW_PX = matchMedia('(pointer: coarse)').matches ? 28 : 17;
export const PROFILE_PX = 40;

export interface RowHandlers {
  select: () => void;
  remove: () => void;
  drag: (tip_depth_mm: number) => void;
  letGo: () => void;
}

interface Props extends RowHandlers {
  row: Row;
  device: Device | undefined;
  /** What the bar shows. */
  passage: Passage | undefined;
  /** As far as the device goes by itself. */
  reach_mm: number | undefined;
  held: Held | undefined;
  /** Canal state of a passage of the plan; undefined for the canal as it is. */
  state: string | undefined;
  /** What the plan wants of this device, when the bar is one of the plan's. */
  wanted: Wanted | undefined;
  selected: boolean;
  scale: Scale;
  width: number;
}

/** A device as a bar from the reference point to where it ends; its end can be taken and moved. */
export function DeviceRow(props: Props) {
  const { row, device, selected } = props;
  const label = device ? deviceLabel(device) : row.device;
  const colour = device ? sizeColour(device) : null;
  return (
    <div class={`device ${selected ? 'selected' : ''}`} data-row={row.id}>
      <div class="device-label">
        {selected && (
          <button class="plain remove" type="button" aria-label={t('ruler.removeRow', { device: label })} title={t('ruler.removeRow', { device: label })} onClick={props.remove}>
            ×
          </button>
        )}
        <button class="plain name" type="button" aria-pressed={selected} onClick={props.select} title={label}>
          <span>{device ? shortLabel(device) : row.device}</span>
          <i class={`size ${colour ?? 'none'}`} aria-hidden="true" />
        </button>
      </div>
      <Bar {...props} label={label} />
      {selected && props.passage?.profile && props.passage.profile.depth_mm.length > 1 && <Profile passage={props.passage} scale={props.scale} width={props.width} />}
    </div>
  );
}

function endText(props: Props): string {
  const { passage, held, state } = props;
  if (held) {
    const answer = held.passage && !held.busy ? ` · ${format.strain(held.passage.peak_strain)}` : ' …';
    const where = state === undefined || state === 'native' ? '' : ` · ${t('state.short.native')}`;
    return `${t('ruler.held')}${held.sentence === null ? answer + where : ' ✕'}`;
  }
  if (!passage) return '…';
  const after = state === 'during' || state === 'shaped' ? ` · ${t(`state.short.${state}`)}` : '';
  return t(props.wanted?.held && passage.stopped_by !== 'foramen' ? 'stop.planned' : `stop.${passage.stopped_by}`) + after;
}

function Bar(props: Props & { label: string }) {
  const { passage, held, scale, width, reach_mm, wanted } = props;
  const tip = held?.tip_depth_mm ?? passage?.reaches_mm;
  const y = ROW_PX / 2;
  const left = Math.max(scale.left_px, toPx(scale, 0));
  if (tip === undefined) {
    return (
      <div class="bar">
        <svg width={width} height={ROW_PX} aria-hidden="true">
          <line class="pending" x1={left} x2={left + 60} y1={y} y2={y} />
          <text class="why" x={left + 68} y={y + 4}>
            …
          </text>
        </svg>
      </div>
    );
  }
  const x = Math.max(left, toPx(scale, tip));
  const reach = reach_mm === undefined ? null : toPx(scale, reach_mm);
  const number = format.depth(tip);
  return (
    <div class="bar">
      <svg width={width} height={ROW_PX} aria-hidden="true">
        {held && reach !== null && reach > x && <path class="ghost" d={`M${x} ${y} H${reach} M${reach} ${y - 4} V${y + 4}`} />}
        <line class="body" x1={left} x2={x} y1={y} y2={y} />
        {passage?.binds.map(([from, to], i) => {
          const a = Math.max(left, toPx(scale, from));
          const b = Math.min(x, toPx(scale, to));
          return b - a > 0.5 && <rect key={i} class="bind" x={a} y={y - 4.5} width={Math.max(2, b - a)} height={9} rx={2} />;
        })}
        {!held && wanted && Math.abs(wanted.depth_mm - tip) > 0.05 && (
          <path class="wanted" d={`M${toPx(scale, wanted.depth_mm)} ${y - 5} l4 5 l-4 5 l-4 -5 z`} />
        )}
        <line class="tick" x1={x} x2={x} y1={y - 6} y2={y + 6} />
        <text x={Math.max(x, held && reach !== null ? reach : x) + 8} y={y + 4}>
          {number}
          <tspan class="why" dx={5}>
            {endText(props)}
          </tspan>
        </text>
      </svg>
      <Tip {...props} tip={tip} x={x} />
    </div>
  );
}

/** The end of a bar, which pointer and keys can move. */
function Tip(props: Props & { label: string; tip: number; x: number }) {
  const { row, label, tip, x, scale, reach_mm, passage, held } = props;
  const grip = useRef<{ x: number; tip: number } | null>(null);
  const furthest = reach_mm ?? scale.to_mm;
  const move = (to: number): void => props.drag(Math.min(Math.max(to, 0.1), furthest));
  const keys = (event: KeyboardEvent): void => {
    const far = event.shiftKey ? 1 : 0.1;
    if (event.key === 'ArrowLeft' || event.key === 'ArrowDown') move(tip - far);
    else if (event.key === 'ArrowRight' || event.key === 'ArrowUp') move(tip + far);
    else if (event.key === 'End' || event.key === 'Escape') props.letGo();
    else return;
    event.preventDefault();
    event.stopPropagation();
  };
  const strainText = passage ? `, ${t('at.peak')} ${format.strain(passage.peak_strain)}` : '';
  return (
    <div
      class={`tip ${held ? 'held' : ''}`}
      style={{ left: `${x}px` }}
      role="slider"
      tabIndex={0}
      aria-label={t('ruler.barEnd', { device: label, canal: row.canal })}
      aria-orientation="horizontal"
      aria-valuemin={0}
      aria-valuemax={Number(furthest.toFixed(1))}
      aria-valuenow={Number(tip.toFixed(1))}
      aria-valuetext={`${format.depth(tip)}${strainText}`}
      onKeyDown={keys}
      onPointerDown={(event) => {
        event.preventDefault();
        event.currentTarget.focus();
        event.currentTarget.setPointerCapture(event.pointerId);
        grip.current = { x: event.clientX, tip };
        props.select();
      }}
      onPointerMove={(event) => {
        const start = grip.current;
        if (!start || event.clientX === start.x) return;
        event.stopPropagation();
        move(toDepth(scale, toPx(scale, start.tip) + event.clientX - start.x));
      }}
      onPointerUp={() => (grip.current = null)}
      onPointerCancel={() => (grip.current = null)}
      onDblClick={() => props.letGo()}
    />
  );
}

/** Strain along the device and where it presses on the wall, over the same depths as the bar. */
function Profile({ passage, scale, width }: { passage: Passage; scale: Scale; width: number }) {
  const profile = passage.profile;
  if (!profile) return null;
  const base = 26;
  const peak = Math.max(...profile.strain, 1e-9);
  const press = Math.max(...profile.contact_N_per_mm, 0);
  const first = profile.depth_mm[0] ?? 0;
  const last = profile.depth_mm.at(-1) ?? first;
  const line = curveLine(profile.depth_mm, profile.strain, scale, base, 22, peak);
  const ends = [toPx(scale, first), toPx(scale, last)];
  const clip = `profile-${passage.canal}-${passage.device}`.replace(/\W/g, '_');
  return (
    <>
      <div class="device-label profile-label">
        <span>
          {t('ruler.strain')} ≤ {format.strain(peak)}
        </span>
        <span>
          {t('ruler.contact')} ≤ {format.lineForce(press)}
        </span>
      </div>
      <svg class="profile" width={width} height={PROFILE_PX} aria-hidden="true">
        <clipPath id={clip}>
          <rect x={scale.left_px} y={0} width={width - scale.left_px} height={PROFILE_PX} />
        </clipPath>
        <g clip-path={`url(#${clip})`}>
          <polygon class="strain-area" points={`${ends[0]},${base} ${line} ${ends[1]},${base}`} />
          <polyline class="strain-line" points={line} />
          <line class="strip-base" x1={ends[0]} x2={ends[1]} y1={base} y2={base} />
          {press > 0 &&
            profile.contact_N_per_mm.map((c, i) => {
              const x = toPx(scale, profile.depth_mm[i] ?? 0);
              return c > press * 0.02 && <line key={i} class="press" x1={x} x2={x} y1={base + 2} y2={base + 2 + (c / press) * 11} />;
            })}
        </g>
      </svg>
    </>
  );
}
