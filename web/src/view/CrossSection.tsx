import type { Canal } from '../api/documents';
import { type CanalAt, radiusToward, sectionAxes, wallRays } from '../model/canal';
import * as format from '../model/format';
import { type ToothFrame, edgeNames } from '../model/directions';
import { wallRisk } from '../model/risk';
import { type Vec3, dot } from '../model/vec';
import { t } from '../model/words';

interface Props {
  canal: Canal;
  at: CanalAt;
  frame: ToothFrame | null;
  /** The device in this section, if one is here. */
  device: { diameter_mm: number; offset_P: Vec3; toward_P: Vec3; presses: boolean } | null;
  size_px: number;
}

/** Half the width of the picture in mm, in steps so that it does not swim while the cursor moves. */
const HALVES_MM = [1.2, 1.8, 2.6, 3.6];

/** The closest step that shows the canal and its thinnest wall with some room. */
const halfFor = (width_mm: number, wall_mm: number): number => HALVES_MM.find((h) => width_mm / 2 + wall_mm + 0.3 <= h) ?? 3.6;

/** The canal, the dentine round it and the device in it, drawn to scale looking toward the apex. */
export function CrossSection({ canal, at, frame, device, size_px }: Props) {
  const { right, down } = sectionAxes(at.tangent);
  const px = size_px / (2 * halfFor(at.long_mm ?? at.diameter_mm, at.wall_min_mm ?? 1));
  const long = at.long_mm ?? at.diameter_mm;
  const short = at.short_mm ?? at.diameter_mm;
  const axis_deg = at.long_axis_deg ?? 0;
  const place = (v: Vec3): [number, number] => [dot(v, right) * px, dot(v, down) * px];
  const wall = wallRays(canal, at).map(({ direction, wall_mm }) => {
    const r = radiusToward(at, direction) + wall_mm;
    return place([direction[0] * r, direction[1] * r, direction[2] * r]).map((x) => x.toFixed(1)).join(',');
  });
  const letters = edgeNames(right, down, frame);
  const half = size_px / 2;
  return (
    <svg
      class="across"
      width={size_px}
      height={size_px}
      viewBox={`${-half} ${-half} ${size_px} ${size_px}`}
      role="img"
      aria-label={t('at.picture', { canal: canal.name, depth: format.depth(at.depth_mm) })}
    >
      {wall.length > 2 && <polygon class="dentine" points={wall.join(' ')} />}
      <ellipse class="lumen" rx={(long * px) / 2} ry={(short * px) / 2} transform={`rotate(${axis_deg.toFixed(1)})`} />
      {at.wall_min_toward && at.wall_min_mm !== undefined && <Thinnest {...{ at, px, place }} radius={radiusToward(at, at.wall_min_toward)} />}
      {device && <DeviceDisc device={device} place={place} px={px} />}
      <g class="letters">
        <text x={-half + 3} y={4}>{letters.left}</text>
        <text x={half - 3} y={4} text-anchor="end">{letters.right}</text>
        <text y={-half + 11} text-anchor="middle">{letters.top}</text>
        <text x={Math.min(0, half - 18 - px)} y={half - 4} text-anchor="middle">
          {letters.bottom}
        </text>
      </g>
      <g class="scale-bar">
        <path d={`M${half - 8 - px} ${half - 7} h${px} m0 -3 v6 m${-px} -6 v6`} />
        <text x={half - 8 - px / 2} y={half - 13} text-anchor="middle">
          {format.withUnit('1', 'mm')}
        </text>
      </g>
    </svg>
  );
}

function Thinnest({ at, px, place, radius }: { at: CanalAt; px: number; place: (v: Vec3) => [number, number]; radius: number }) {
  const toward = at.wall_min_toward;
  const wall = at.wall_min_mm;
  if (!toward || wall === undefined) return null;
  const [x, y] = place(toward);
  const n = Math.hypot(x, y) || 1;
  const [ux, uy] = [x / n, y / n];
  const from = radius * px;
  const to = (radius + wall) * px;
  return <line class={`thinnest risk-line-${wallRisk(wall)}`} x1={ux * from} y1={uy * from} x2={ux * to} y2={uy * to} />;
}

function DeviceDisc({ device, place, px }: { device: NonNullable<Props['device']>; place: (v: Vec3) => [number, number]; px: number }) {
  const [x, y] = place(device.offset_P);
  const [dx, dy] = place(device.toward_P);
  const n = Math.hypot(dx, dy);
  const r = (device.diameter_mm * px) / 2;
  return (
    <g transform={`translate(${x.toFixed(1)} ${y.toFixed(1)})`}>
      <circle class="device-disc" r={Math.max(1, r)} />
      {device.presses && n > 0 && <line class="push" x1={(dx / n) * r} y1={(dy / n) * r} x2={(dx / n) * (r + 9)} y2={(dy / n) * (r + 9)} />}
    </g>
  );
}
