import { type Signal, useSignal } from '@preact/signals';
import { useMemo, useRef } from 'preact/hooks';
import type { Edit } from '../../api/documents';
import { type AlongMap, alongMap, turnDirection } from '../../model/along';
import { canalAt, radiusToward } from '../../model/canal';
import { moveEdit } from '../../model/corrections';
import { directionName } from '../../model/directions';
import * as format from '../../model/format';
import { store } from '../../model/store';
import { surfacePoint } from '../../model/surface';
import { type Vec3, add, dot, scale, subtract } from '../../model/vec';
import { t } from '../../model/words';
import { Handle } from '../../view/Handle';
import { GreyPicture, type PictureMap } from '../../view/SectionPicture';
import type { AtCursor } from './Pictures';
import { MeasuresOver, pictureInput } from './shared';

/** The scan along the canal of the cursor, laid out like the ruler: crown left, apex right. */
export function Along({ brick, scan, at, canal: live }: AtCursor) {
  // While a handle is held the picture stays as it was.
  const frozen = useSignal<{ canal: AtCursor['canal']; at: AtCursor['at'] } | null>(null);
  const canal = frozen.value?.canal ?? live;
  const { pictures, frame, grey, corrections } = store.state.work;
  const turn = pictures.alongTurn_deg.value;
  const up_P = useMemo(() => turnDirection(turn, frame.value), [turn, frame.value]);
  const shape = pictures.shape.value;
  // The cursor moves on this picture, the picture itself stays: its map is made anew only for another one.
  const kept = useRef<{ of: readonly unknown[]; map: PictureMap & { along: AlongMap } } | null>(null);
  const mapFor = (width: number, height: number): PictureMap & { along: AlongMap } => {
    const of = [canal, shape, up_P, width, height];
    if (kept.current && of.every((x, i) => x === kept.current?.of[i])) return kept.current.map;
    const along = alongMap(canal, shape, up_P, width, height);
    const map = { along, surface: along.surface, mm_per_px: along.mm_per_px, toPatient: (x: number, y: number) => surfacePoint(along.surface, x / width, y / height) };
    kept.current = { of, map };
    return map;
  };
  const alongOf = (map: PictureMap): AlongMap => (map as ReturnType<typeof mapFor>).along;
  const name = t(`along.${shape}`);
  return (
    <GreyPicture
      {...pictureInput}
      class="along-picture"
      title={`${name} · ${canal.name}`}
      label={t('section.at', { name, where: `${canal.name} ${format.depth(at.depth_mm)}` })}
      bricks={[brick]}
      layer={pictures.layer.value}
      grey={grey.value}
      greyRange={scan.grey.high - scan.grey.low}
      mapFor={mapFor}
      names={() => ({ left: t('along.crown'), right: t('along.apex'), top: directionName(up_P, frame.value), bottom: directionName(scale(up_P, -1), frame.value) })}
      overlay={(map, width, height) => (
        <>
          <Walls map={alongOf(map)} canal={canal} />
          {frozen.value && <LiveLine map={map} width={width} height={height} canal={live} />}
          {corrections.on.value && <SideHandle map={alongOf(map)} canal={live} at={frozen.value?.at ?? at} frozen={frozen} />}
          <CursorAcross map={alongOf(map)} depth_mm={at.depth_mm} height={height} />
          <MeasuresOver place={(p) => placeOn(map, width, height, p)} />
        </>
      )}
    />
  );
}

/** The fitted walls of the canal and its middle. */
function Walls({ map, canal }: { map: AlongMap; canal: AtCursor['canal'] }) {
  return useMemo(() => wallLines(map, canal), [map, canal]);
}

function wallLines(map: AlongMap, canal: AtCursor['canal']) {
  const line = (side: number): string =>
    canal.samples.depth_mm
      .map((depth) => {
        const up = map.upAt(depth);
        const { x, y } = map.place(depth, side === 0 ? 0 : side * radiusToward(canalAt(canal, depth), up));
        return `${x.toFixed(1)},${y.toFixed(1)}`;
      })
      .join(' ');
  return (
    <g class="walls">
      <polyline class="middle" points={line(0)} />
      <polyline points={line(1)} />
      <polyline points={line(-1)} />
    </g>
  );
}

/** The canal as the last answer gives it, over the picture of how it was. */
function LiveLine({ map, width, height, canal }: { map: PictureMap; width: number; height: number; canal: AtCursor['canal'] }) {
  const points = canal.samples.point_mm.map((p) => placeOn(map, width, height, p));
  return (
    <g class="walls">
      <polyline points={points.map((p) => `${p.x.toFixed(1)},${p.y.toFixed(1)}`).join(' ')} />
    </g>
  );
}

interface SideHandleProps {
  map: AlongMap;
  canal: AtCursor['canal'];
  at: AtCursor['at'];
  frozen: Signal<{ canal: AtCursor['canal']; at: AtCursor['at'] } | null>;
}

/** Draws the canal at the cursor to one side. */
function SideHandle({ map, canal, at, frozen }: SideHandleProps) {
  const last = useRef<Edit | null>(null);
  const place = map.place(at.depth_mm, 0);
  return (
    <Handle
      class="middle"
      title={t('correct.handle.middle')}
      x={place.x}
      y={place.y}
      begin={() => {
        frozen.value = { canal, at };
        last.current = null;
      }}
      drag={(_, dy) => {
        last.current = moveEdit(canal.name, at.point_P, add(at.point_P, scale(map.upAt(at.depth_mm), -dy * map.mm_per_px)));
        store.corrections.preview(last.current);
      }}
      end={(kept) => {
        frozen.value = null;
        store.corrections.finish(kept ? last.current : null);
      }}
    />
  );
}

/** The cursor stands across the canal; in the straight layout it is a line as on the ruler. */
function CursorAcross({ map, depth_mm, height }: { map: AlongMap; depth_mm: number; height: number }) {
  const c = map.place(depth_mm, 0);
  return (
    <g class="crosshair">
      <line x1={c.x} x2={c.x} y1={0} y2={Math.max(0, c.y - 14)} />
      <line x1={c.x} x2={c.x} y1={Math.min(height, c.y + 14)} y2={height} />
    </g>
  );
}

/** The place on a bent surface nearest to a point. */
function placeOn(map: PictureMap, width: number, height: number, point_P: Vec3): { x: number; y: number; away_mm: number } {
  let best = { x: 0, y: 0, away_mm: Infinity };
  for (const column of map.surface) {
    const across = subtract(column.bottom_P, column.top_P);
    const share = dot(subtract(point_P, column.top_P), across) / dot(across, across);
    const gap = subtract(point_P, surfacePoint(map.surface, column.x, share));
    const away_mm = Math.hypot(...gap);
    if (away_mm < best.away_mm) best = { x: column.x * width, y: share * height, away_mm };
  }
  return best;
}
