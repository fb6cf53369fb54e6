import type { Signal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { Edit } from '../../api/documents';
import type { SectionPlane } from '../../model/brick';
import type { CanalAt } from '../../model/canal';
import { moveEdit, sectionEdit, shifted } from '../../model/corrections';
import { store } from '../../model/store';
import { t } from '../../model/words';
import { Handle } from '../../view/Handle';

/** A canal's section in a picture across it. */
export interface InSection {
  canal: string;
  at: CanalAt;
  plane: SectionPlane;
  width: number;
  height: number;
  /** While a handle is held the picture stays as it was, or it would run away under the pointer. */
  frozen: Signal<CanalAt | null>;
}

/** Handles on the fitted outline: its middle, and the ends of its long and its short diameter. */
export function SectionHandles({ canal, at, plane, width, height, frozen }: InSection) {
  const last = useRef<Edit | null>(null);
  const held = frozen.value ?? at;
  const axis = ((held.long_axis_deg ?? 0) * Math.PI) / 180;
  const long = (held.long_mm ?? held.diameter_mm) / 2 / plane.mm_per_px;
  const short = (held.short_mm ?? held.diameter_mm) / 2 / plane.mm_per_px;
  const places = {
    middle: { x: 0, y: 0 },
    long: { x: long * Math.cos(axis), y: long * Math.sin(axis) },
    short: { x: -short * Math.sin(axis), y: short * Math.cos(axis) },
  };
  const editFor = (which: keyof typeof places, dx: number, dy: number): Edit => {
    const x = places[which].x + dx;
    const y = places[which].y + dy;
    const mm = 2 * Math.hypot(x, y) * plane.mm_per_px;
    const deg = (Math.atan2(y, x) * 180) / Math.PI;
    if (which === 'long') return sectionEdit(canal, held, { long_mm: mm, axis_deg: deg });
    if (which === 'short') return sectionEdit(canal, held, { short_mm: mm, axis_deg: deg - 90 });
    return moveEdit(canal, held.point_P, shifted(held.point_P, plane.right, dx * plane.mm_per_px, plane.down, dy * plane.mm_per_px));
  };
  return (
    <>
      {(['long', 'short', 'middle'] as const).map((which) => (
        <Handle
          key={which}
          class={which}
          title={t(`correct.handle.${which}`)}
          x={width / 2 + places[which].x}
          y={height / 2 + places[which].y}
          begin={() => {
            frozen.value = at;
            last.current = null;
          }}
          drag={(dx, dy) => {
            last.current = editFor(which, dx, dy);
            store.corrections.preview(last.current);
          }}
          end={(kept) => {
            frozen.value = null;
            store.corrections.finish(kept ? last.current : null);
          }}
        />
      ))}
    </>
  );
}

/** Millimetres a key moves the middle by, and a diameter grows by. */
const KEY_MM = 0.05;

/** Arrows move the middle of the section, plus and minus make it wider and narrower, R and L turn it. */
export function editByKey(canal: string, at: CanalAt, plane: { right: CanalAt['tangent']; down: CanalAt['tangent'] }, key: string, far: boolean): boolean {
  const step = far ? 3 * KEY_MM : KEY_MM;
  const move: Record<string, readonly [number, number]> = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
  const by = move[key];
  const long = at.long_mm ?? at.diameter_mm;
  const short = at.short_mm ?? at.diameter_mm;
  if (by) store.corrections.make(moveEdit(canal, at.point_P, shifted(at.point_P, plane.right, by[0], plane.down, by[1])), true);
  else if (key === '+' || key === '-') {
    const grow = key === '+' ? step : -step;
    store.corrections.make(sectionEdit(canal, at, { long_mm: long + grow, short_mm: short + grow }), true);
  } else if (key === 'r' || key === 'l') store.corrections.make(sectionEdit(canal, at, { axis_deg: (at.long_axis_deg ?? 0) + (key === 'r' ? 5 : -5) }), true);
  else return false;
  return true;
}
