import { useRef } from 'preact/hooks';
import { useSignal } from '@preact/signals';
import { pixelToPatient } from '../../model/brick';
import { goesRound, outlineEdit } from '../../model/corrections';
import { patientToPixel } from '../../model/planes';
import { store } from '../../model/store';
import { type Vec3, distance } from '../../model/vec';
import { t } from '../../model/words';
import type { InSection } from './SectionHandles';

/** Px between the points that are kept of a line. */
const APART_PX = 2;
/** Before this many points the line has hardly begun to go round anything. */
const LEAST_POINTS = 12;

interface Px {
  x: number;
  y: number;
}

/** Draws the outline of the canal with a free hand; what it would mean follows while it is drawn. */
export function OutlinePen({ canal, at, plane, width, height, frozen }: InSection) {
  // Kept in the patient, so that the picture may change its size meanwhile.
  const line_P = useSignal<readonly Vec3[]>([]);
  const held = useRef(false);
  const line = (): Px[] => line_P.value.map((point_P) => patientToPixel(plane, at.tangent, width, height, point_P));
  const edit = () => (line_P.value.length >= LEAST_POINTS && goesRound(line()) ? outlineEdit(canal, line_P.value) : null);
  const place = (event: PointerEvent): Vec3 => {
    const box = (event.currentTarget as SVGElement).getBoundingClientRect();
    return pixelToPatient(plane, width, height, event.clientX - box.left, event.clientY - box.top);
  };
  const end = (kept: boolean): void => {
    if (!held.current) return;
    held.current = false;
    const drawn = kept ? edit() : null;
    frozen.value = null;
    line_P.value = [];
    store.corrections.finish(drawn);
  };
  return (
    <g class="pen">
      <polygon points={line().map(({ x, y }) => `${x.toFixed(1)},${y.toFixed(1)}`).join(' ')} />
      <rect
        width={width}
        height={height}
        onPointerDown={(event) => {
          if (event.button !== 0 || event.altKey) return;
          event.stopPropagation();
          event.currentTarget.setPointerCapture(event.pointerId);
          held.current = true;
          frozen.value = at;
          line_P.value = [place(event)];
        }}
        onPointerMove={(event) => {
          if (!held.current) return;
          event.stopPropagation();
          const now = place(event);
          const last = line_P.value.at(-1);
          if (last && distance(now, last) < APART_PX * plane.mm_per_px) return;
          line_P.value = [...line_P.value, now];
          const drawn = edit();
          if (drawn) store.corrections.preview(drawn);
        }}
        onPointerUp={(event) => {
          event.stopPropagation();
          end(true);
        }}
        onPointerCancel={() => end(false)}
      >
        <title>{t('correct.outline.draw')}</title>
      </rect>
    </g>
  );
}
