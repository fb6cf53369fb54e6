import * as format from '../../model/format';
import { type Measured, measuredValue } from '../../model/pictures';
import { store } from '../../model/store';
import type { Vec3 } from '../../model/vec';

/** Moves the cursor along its canal by tenths of a millimetre. */
export function stepDepth(steps: number): void {
  const now = store.state.work.cursor.value;
  if (now) store.pin({ canal: now.canal, depth_mm: Math.round((now.depth_mm + steps * 0.1) * 10) / 10 });
}

/** What every picture of the case does with pointer, wheel and keys. */
export const pictureInput = {
  onPoint: (point_P: Vec3): void => store.pressPicture(point_P),
  onStep: stepDepth,
  onNudge: (right: number, down: number): void => stepDepth(right + down),
  onGrey: (window: { low: number; high: number }): void => store.setWorkGrey(window),
};

/** A measure as the reader sees it: mm, or degrees. */
export function measuredText(measured: Measured): string {
  const value = measuredValue(measured);
  if (value === null) return '';
  return measured.kind === 'length' ? format.width(value) : `${format.fixed(value, 1)}°`;
}

/** A measure counts as lying in a picture up to this far from it. */
const IN_PLANE_MM = 0.4;

/** Measures that lie in a picture, drawn over it. */
export function MeasuresOver({ place }: { place: (point_P: Vec3) => { x: number; y: number; away_mm: number } }) {
  const { measured, begun } = store.state.work.pictures;
  const all = begun.value ? [...measured.value, begun.value] : measured.value;
  return (
    <g class="measures">
      {all.map((m, i) => {
        const points = m.points_P.map(place);
        if (points.some((p) => Math.abs(p.away_mm) > IN_PLANE_MM)) return null;
        const label = points[m.kind === 'angle' ? 1 : points.length - 1];
        return (
          <g key={i}>
            <polyline points={points.map((p) => `${p.x.toFixed(1)},${p.y.toFixed(1)}`).join(' ')} />
            {points.map((p, k) => (
              <circle key={k} cx={p.x} cy={p.y} r={2.5} />
            ))}
            {label && (
              <text x={label.x + 6} y={label.y - 6}>
                {measuredText(m)}
              </text>
            )}
          </g>
        );
      })}
    </g>
  );
}
