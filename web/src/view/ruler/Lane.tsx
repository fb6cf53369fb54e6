import { type ReadonlySignal, useComputed } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useMemo } from 'preact/hooks';
import type { Canal } from '../../api/documents';
import { canalAt, firstDepth, lastDepth } from '../../model/canal';
import * as format from '../../model/format';
import { type Factors, type Scale, type WallLeft, toDepth } from '../../model/ruler';
import type { Cursor } from '../../model/state';
import { DOUBTFUL } from '../../model/risk';
import { t } from '../../model/words';
import type { OriginName } from '../../model/origins';
import { Origin } from '../Origin';
import { CanalBand } from './CanalBand';

interface Props {
  canal: Canal;
  /** Read only where it is drawn, so that moving it does not redraw the lanes. */
  cursor: ReadonlySignal<Cursor | null>;
  scale: Scale;
  factors: Factors;
  width: number;
  band_px: number;
  workingDepth_mm: number | null;
  /** The canal this one is worked to the join with; null when it goes to its foramen. */
  joins: string | null;
  left: WallLeft | null;
  hover: (cursor: Cursor | null) => void;
  pin: (cursor: Cursor) => void;
  /** How many bars the lane has, whether they are folded away, and the switch for that. */
  bars: number;
  folded: boolean;
  fold: () => void;
  addDevice: () => void;
  showOrigin: (of: OriginName) => void;
  children: ComponentChildren;
}

/** A canal with its bars. The whole lane sets the cursor: the pointer by moving and pressing, the keys by steps. */
export function Lane(props: Props) {
  const { canal, scale, factors, width, band_px, workingDepth_mm, left } = props;
  // Drawn anew only when something in it is: devices that move beside it are not.
  const picture = useMemo(
    () => <CanalBand canal={canal} scale={scale} factors={factors} width={width} band_px={band_px} workingDepth_mm={workingDepth_mm} left={left} />,
    [canal, scale.from_mm, scale.to_mm, scale.left_px, scale.width_px, factors.canal, factors.wall, width, band_px, workingDepth_mm, left],
  );
  const here = useComputed(() => props.cursor.value?.canal === canal.name);
  const depthUnder = (event: PointerEvent & { currentTarget: HTMLElement }): number | null => {
    const plot = event.currentTarget.querySelector('.band')?.getBoundingClientRect();
    if (!plot || event.clientX < plot.left + scale.left_px - 4) return null;
    return Math.min(Math.max(toDepth(scale, event.clientX - plot.left), scale.from_mm), lastDepth(canal));
  };
  return (
    <section
      class={`lane ${here.value ? 'here' : ''}`}
      aria-label={t('plan.canal', { canal: canal.name })}
      data-canal={canal.name}
      onPointerMove={(event) => {
        const depth_mm = depthUnder(event);
        props.hover(depth_mm === null ? null : { canal: canal.name, depth_mm });
      }}
      onPointerLeave={() => props.hover(null)}
      onPointerUp={(event) => {
        const depth_mm = depthUnder(event);
        if (depth_mm !== null && !(event.target as Element).closest('button')) props.pin({ canal: canal.name, depth_mm });
      }}
    >
      <LaneLabel {...props} />
      <CursorSlider canal={canal} cursor={props.cursor} pin={props.pin}>
        {picture}
      </CursorSlider>
      {props.children}
    </section>
  );
}

function LaneLabel({ canal, workingDepth_mm, joins, left, bars, folded, fold, addDevice, showOrigin }: Props) {
  return (
    <div class="lane-label">
      <h3>
        <button class="plain fold" type="button" aria-expanded={!folded} title={folded ? t('ruler.bars', { n: bars }) : t('ruler.fold', { canal: canal.name })} disabled={bars === 0} onClick={fold}>
          {canal.name}
          {bars > 0 && <span class="fold-sign">{folded ? ` ▸ ${bars}` : ' ▾'}</span>}
        </button>
      </h3>
      <p class="number depth">
        <Origin of="foramen" show={showOrigin}>
          {format.plusMinus(canal.depth_to_foramen_mm, canal.depth_sd_mm, 1, 'mm')}
        </Origin>
      </p>
      {workingDepth_mm !== null && <p class="soft number">
          <Origin of="work" show={showOrigin}>
            {joins === null ? t('ruler.workTo', { depth: format.depth(workingDepth_mm) }) : t('ruler.workToJoin', { depth: format.depth(workingDepth_mm), canal: joins })}
          </Origin>
        </p>}
      {canal.presence !== undefined && (
        <p class={`number ${canal.presence < DOUBTFUL ? 'doubt' : 'soft'}`}>
          <Origin of="presence" show={showOrigin}>
            {t(canal.presence < DOUBTFUL ? 'ruler.doubt' : 'ruler.presence', { p: format.probability(canal.presence) })}
          </Origin>
        </p>
      )}
      {canal.by_hand && <p class="soft">{t('ruler.byHand')}</p>}
      <button class="add" type="button" aria-label={t('ruler.add', { canal: canal.name })} onClick={addDevice}>
        + {t('ruler.addShort')}
      </button>
      <span class="strip-name curve">
        <Origin of="curve" show={showOrigin}>
          {t('ruler.curve')}
        </Origin>
      </span>
      <span class="strip-name wall">
        <Origin of="wall" show={showOrigin}>
          {t('ruler.wall')}
        </Origin>
      </span>
      {left && (
        <span class="strip-name left">
          <Origin of="wallLeft" show={showOrigin}>
            {t('ruler.left')}
          </Origin>
        </span>
      )}
    </div>
  );
}

function CursorSlider({ canal, cursor, pin, children }: Pick<Props, 'canal' | 'cursor' | 'pin' | 'children'>) {
  const now = cursor.value;
  const here = now?.canal === canal.name;
  const depth_mm = here ? now.depth_mm : firstDepth(canal);
  const at = canalAt(canal, depth_mm);
  const keys = (event: KeyboardEvent): void => {
    const far = event.shiftKey ? 1 : 0.1;
    const to: Record<string, number> = {
      ArrowLeft: depth_mm - far,
      ArrowRight: depth_mm + far,
      Home: firstDepth(canal),
      End: lastDepth(canal),
    };
    const next = to[event.key];
    if (next === undefined) return;
    event.preventDefault();
    pin({ canal: canal.name, depth_mm: Math.round(next * 10) / 10 });
  };
  return (
    <div
      class="lane-picture"
      role="slider"
      tabIndex={0}
      aria-label={t('ruler.lane', { canal: canal.name })}
      aria-description={t('ruler.keys')}
      aria-orientation="horizontal"
      aria-valuemin={0}
      aria-valuemax={Number(lastDepth(canal).toFixed(1))}
      aria-valuenow={Number(depth_mm.toFixed(1))}
      aria-valuetext={`${format.depth(depth_mm)}, ${t('at.width')} ${format.width(at.diameter_mm)}`}
      onKeyDown={keys}
      onFocus={() => !here && pin({ canal: canal.name, depth_mm: now ? Math.min(now.depth_mm, lastDepth(canal)) : firstDepth(canal) })}
    >
      {children}
    </div>
  );
}
