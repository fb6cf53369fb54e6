import type { Canal } from '../../api/documents';
import { firstDepth, lastDepth } from '../../model/canal';
import * as format from '../../model/format';
import { type Factors, type Scale, type WallLeft, curveCells, laneShape, leastLeft, leftCells, pxPerMm, sharpest, stripAreas, thinnest as thinnestWall, toPx, wallCells } from '../../model/ruler';
import { t } from '../../model/words';

export const STRIP_PX = 13;
const STRIP_GAP_PX = 4;

/** Height of a canal's picture: the band and the strips under it, the third for what a plan leaves of the wall. */
export const bandHeight = (band_px: number, planned: boolean): number => band_px + (planned ? 3 : 2) * (STRIP_PX + STRIP_GAP_PX) + (planned ? STRIP_GAP_PX : 0);

interface Props {
  canal: Canal;
  scale: Scale;
  factors: Factors;
  width: number;
  band_px: number;
  workingDepth_mm: number | null;
  /** What the plan leaves of the walls; null without a plan. */
  left: WallLeft | null;
}

/** One canal, straightened: its width in dentine, how it bends and how thin its wall gets. */
export function CanalBand({ canal, scale, factors, width, band_px, workingDepth_mm, left }: Props) {
  const shape = laneShape(canal, scale, band_px / 2, factors);
  const foramen = toPx(scale, canal.depth_to_foramen_mm);
  const sd_px = (canal.depth_sd_mm ?? 0) * pxPerMm(scale);
  const clip = `lane-${canal.name.replace(/\W/g, '_')}`;
  return (
    <svg class="band" width={width} height={bandHeight(band_px, left !== null)} aria-hidden="true">
      <clipPath id={clip}>
        <rect x={scale.left_px} y={0} width={width - scale.left_px} height={band_px} />
      </clipPath>
      <g clip-path={`url(#${clip})`}>
        <Crown canal={canal} scale={scale} band_px={band_px} />
        {shape.dentineAbove !== null && <polygon class="dentine" points={shape.dentineAbove} />}
        {shape.dentineBelow !== null && <polygon class="dentine" points={shape.dentineBelow} />}
        <polygon class="spread" points={shape.wide} />
        <polygon class="spread" points={shape.mean} />
        <polygon class="lumen" points={shape.narrow} />
        {sd_px > 0 && <rect class="end-spread" x={foramen - 2 * sd_px} y={2} width={4 * sd_px} height={band_px - 4} />}
        {sd_px > 0 && <rect class="end-spread" x={foramen - sd_px} y={2} width={2 * sd_px} height={band_px - 4} />}
        <line class="end" x1={foramen} x2={foramen} y1={2} y2={band_px - 2} />
        {workingDepth_mm !== null && <WorkingDepth x={toPx(scale, workingDepth_mm)} band_px={band_px} />}
      </g>
      <Branchings canal={canal} scale={scale} />
      <Strips canal={canal} scale={scale} top={band_px} />
      {left && <LeftStrip left={left} canal={canal} scale={scale} base={bandHeight(band_px, true) - STRIP_GAP_PX} />}
    </svg>
  );
}

/** From the reference point to the orifice: a straight way, whose walls the ruler does not claim to know. */
function Crown({ canal, scale, band_px }: { canal: Canal; scale: Scale; band_px: number }) {
  const left = toPx(scale, 0);
  const right = toPx(scale, firstDepth(canal));
  if (right <= scale.left_px) return null;
  const height = band_px * 0.2;
  return (
    <g>
      <rect class="crown" x={left} y={band_px * 0.12} width={right - left} height={height} />
      <rect class="crown" x={left} y={band_px * 0.88 - height} width={right - left} height={height} />
      <line class="way" x1={left} x2={right} y1={band_px / 2} y2={band_px / 2} />
    </g>
  );
}

function WorkingDepth({ x, band_px }: { x: number; band_px: number }) {
  return <path class="working" d={`M${x} 2 V${band_px - 2} M${x - 4} 2 H${x + 4} M${x - 4} ${band_px - 2} H${x + 4}`} />;
}

function Branchings({ canal, scale }: { canal: Canal; scale: Scale }) {
  const { joins, leaves } = canal;
  const note = (depth_mm: number, text: string) => (
    <g class="branching" key={text}>
      <path d={`M${toPx(scale, depth_mm) - 4} 0 h8 l-4 7 z`} />
      <text x={toPx(scale, depth_mm) - 7} y={9} text-anchor="end">
        {text}
      </text>
    </g>
  );
  return (
    <>
      {joins && note(joins.depth_mm, t('ruler.joins', { canal: joins.canal, depth: format.depth(joins.depth_mm) }))}
      {leaves && note(leaves.depth_mm, t('ruler.leaves', { canal: leaves.canal, depth: format.depth(leaves.depth_mm) }))}
    </>
  );
}

/** The wall inside each bend and toward the furcation, as the plan leaves it. */
function LeftStrip({ left, canal, scale, base }: { left: WallLeft; canal: Canal; scale: Scale; base: number }) {
  const least = leastLeft(left);
  const textX = Math.max(scale.left_px + scale.width_px, toPx(scale, lastDepth(canal))) + 8;
  const runs = leftCells(left, scale);
  return (
    <g>
      <line class="strip-base" x1={toPx(scale, firstDepth(canal))} x2={toPx(scale, lastDepth(canal))} y1={base} y2={base} />
      {runs.map((run) => stripAreas(run, base, STRIP_PX).map((a, i) => <polygon key={i} class={`risk-${a.risk}`} points={a.points} />))}
      {runs.flat().filter((cell) => cell.danger).map((cell, i) => (
        <rect key={i} class="danger-zone" x={cell.x_px} width={cell.width_px} y={base - 1.5} height={2.5} />
      ))}
      {least && <path class="extreme" d={`M${toPx(scale, least.depth_mm)} ${base + 0.5} l-3 4 h6 z`} />}
      <text class="strip-text" x={textX} y={base - 1}>
        {least === null ? t('ruler.noBend') : t('ruler.thinnest', { wall: format.width(least.value), depth: format.depth(least.depth_mm) })}
      </text>
    </g>
  );
}

function Strips({ canal, scale, top }: { canal: Canal; scale: Scale; top: number }) {
  const curveBase = top + STRIP_GAP_PX + STRIP_PX;
  const wallBase = curveBase + STRIP_GAP_PX + STRIP_PX;
  const tightest = sharpest(canal);
  const thinnest = thinnestWall(canal);
  const textX = Math.max(scale.left_px + scale.width_px, toPx(scale, lastDepth(canal))) + 8;
  const curveText =
    tightest === null || tightest.value < 0.02
      ? t('ruler.straight')
      : t('ruler.tightest', { radius: format.radius(1 / tightest.value), depth: format.depth(tightest.depth_mm) });
  const wallText =
    thinnest === null ? t('ruler.noWall') : t('ruler.thinnest', { wall: format.width(thinnest.value), depth: format.depth(thinnest.depth_mm) });
  const strip = (cells: ReturnType<typeof curveCells>, base: number, text: string, extremeDepth: number | undefined) => (
    <g>
      <line class="strip-base" x1={toPx(scale, firstDepth(canal))} x2={toPx(scale, lastDepth(canal))} y1={base} y2={base} />
      {stripAreas(cells, base, STRIP_PX).map((a, i) => (
        <polygon key={i} class={`risk-${a.risk}`} points={a.points} />
      ))}
      {extremeDepth !== undefined && <path class="extreme" d={`M${toPx(scale, extremeDepth)} ${base + 0.5} l-3 4 h6 z`} />}
      <text class="strip-text" x={textX} y={base - 1}>
        {text}
      </text>
    </g>
  );
  return (
    <>
      {strip(curveCells(canal, scale), curveBase, curveText, tightest && tightest.value >= 0.02 ? tightest.depth_mm : undefined)}
      {strip(wallCells(canal, scale), wallBase, wallText, thinnest?.depth_mm)}
    </>
  );
}
