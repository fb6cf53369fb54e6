import { useMemo } from 'preact/hooks';
import type { Tooth } from '../../api/documents';
import { turnDirection } from '../../model/along';
import type { Brick, SectionPlane } from '../../model/brick';
import type { CanalAt } from '../../model/canal';
import { edgeNames } from '../../model/directions';
import { patientToPixel } from '../../model/planes';
import { rayLayer, rayPlane, rayWindow } from '../../model/radiograph';
import { store } from '../../model/store';
import type { Vec3 } from '../../model/vec';
import { t } from '../../model/words';
import { SectionPicture } from '../../view/SectionPicture';
import { stepDepth } from './shared';

/** What a radiograph from the chosen side is expected to show, from the grey values of the scan. */
export function Radiograph({ brick, tooth, at }: { brick: Brick; tooth: Tooth; at: CanalAt }) {
  const { pictures, frame } = store.state.work;
  const turn = pictures.rayTurn_deg.value;
  const viewer_P = useMemo(() => turnDirection(turn, frame.value), [turn, frame.value]);
  const window = useMemo(() => rayWindow(brick, viewer_P), [brick, viewer_P]);
  return (
    <SectionPicture
      class="rays-picture"
      title={t('rays.caption', { from: turnText(turn) })}
      label={t('section.at', { name: t('rays.title'), where: turnText(turn) })}
      bricks={[brick]}
      layer={rayLayer(brick.geometry, viewer_P)}
      grey={window}
      greyRange={window.high}
      planeFor={(w, h) => rayPlane(brick.geometry, viewer_P, w, h)}
      names={(plane) => ({ ...edgeNames(plane.right, plane.down, frame.value), top: '', bottom: '' })}
      onPoint={(p) => store.pressRays(p, viewer_P)}
      onStep={stepDepth}
      onNudge={(right) => store.setPictures({ rayTurn_deg: turn + 5 * right })}
      overlay={(plane, w, h) => <Shadows plane={plane} viewer_P={viewer_P} tooth={tooth} at={at} width={w} height={h} />}
    />
  );
}

/** "from buccal", or so many degrees from it to one side. */
export function turnText(turn_deg: number): string {
  const turn = Math.round(turn_deg);
  if (turn === 0) return t('rays.buccal');
  return t(turn > 0 ? 'rays.mesially' : 'rays.distally', { deg: Math.abs(turn) });
}

/** Where the canals fall, each with its name at its end, and the cursor. */
function Shadows({ plane, viewer_P, tooth, at, width, height }: { plane: SectionPlane; viewer_P: Vec3; tooth: Tooth; at: CanalAt; width: number; height: number }) {
  const place = (p: Vec3): { x: number; y: number } => patientToPixel(plane, viewer_P, width, height, p);
  const c = place(at.point_P);
  const shadows = tooth.canals.map((canal) => ({ name: canal.name, points: canal.samples.point_mm.map(place) }));
  return (
    <g class="shadows">
      {shadows.map(({ name, points }) => (
        <g class="centreline" key={name}>
          <polyline points={points.map((p) => `${p.x.toFixed(1)},${p.y.toFixed(1)}`).join(' ')} />
        </g>
      ))}
      {spread(shadows.map(({ name, points }) => ({ name, x: points.at(-1)?.x ?? 0, y: (points.at(-1)?.y ?? 0) + 14 }))).map(({ name, x, y }) => (
        <text key={name} x={x} y={y} text-anchor="middle">
          {name}
        </text>
      ))}
      <circle class="cursor-dot" cx={c.x} cy={c.y} r={4} />
    </g>
  );
}

/** Names that would cover one another go below one another. */
function spread(names: { name: string; x: number; y: number }[]): { name: string; x: number; y: number }[] {
  const placed: typeof names = [];
  for (const name of names) {
    const taken = placed.filter((p) => Math.abs(p.x - name.x) < 24).map((p) => p.y);
    placed.push({ ...name, y: taken.some((y) => Math.abs(y - name.y) < 13) ? Math.max(...taken) + 13 : name.y });
  }
  return placed;
}
