import { type Run, stopOf } from '../../model/chair/run';
import type { ChairSheet, ChairStep } from '../../model/chair/steps';
import * as format from '../../model/format';
import { type Scale, pxPerMm, ticks, toPx } from '../../model/ruler';
import { t } from '../../model/words';
import { useSize } from '../../view/useSize';

const HEIGHT_PX = 92;
const BAR_Y = 40;

/** The depth ruler of one canal, in large: where the instrument ends, where it binds, the bend and the foramen. */
export function DepthStrip({ step, sheet, run }: { step: ChairStep; sheet: ChairSheet; run: Run }) {
  const { ref, width } = useSize<HTMLDivElement>();
  const canal = sheet.canals.find((c) => c.name === step.canal);
  if (!canal) return null;
  const stop = stopOf(step, run);
  const measured = run.measured.get(step.canal);
  const end = Math.ceil(Math.max(canal.foramen_mm + 2 * canal.foramen_sd_mm, measured?.depth_mm ?? 0) + 1);
  const scale: Scale = { from_mm: 0, to_mm: end, left_px: 12, width_px: Math.max(100, width - 64) };
  const x = (mm: number): number => toPx(scale, mm);
  const sd_px = canal.foramen_sd_mm * pxPerMm(scale);
  const label = [
    stop && `${t('chair.stop')} ${format.stopSetting(stop.stop_mm)}`,
    `${t('chair.foramen')} ${format.plusMinus(canal.foramen_mm, canal.foramen_sd_mm, 1, 'mm')}`,
    measured && `${t('log.depth-measured')} ${format.depth(measured.depth_mm)}`,
  ].filter(Boolean);
  return (
    <div class="strip" ref={ref}>
      {width > 0 && (
        <svg width={width} height={HEIGHT_PX} role="img" aria-label={label.join(', ')}>
          <rect class="root-way" x={x(0)} y={BAR_Y - 16} width={Math.max(0, x(canal.foramen_mm) - x(0))} height={32} />
          <line class="orifice" x1={x(canal.orifice_mm)} x2={x(canal.orifice_mm)} y1={BAR_Y - 20} y2={BAR_Y + 20} />
          {sd_px > 0 && <rect class="end-spread" x={x(canal.foramen_mm) - 2 * sd_px} y={BAR_Y - 16} width={4 * sd_px} height={32} />}
          <line class="end" x1={x(canal.foramen_mm)} x2={x(canal.foramen_mm)} y1={BAR_Y - 20} y2={BAR_Y + 20} />
          {canal.curve && <path class="bend-mark" d={`M${x(canal.curve.depth_mm) - 9} ${BAR_Y - 22} q9 -14 18 0`} />}
          {stop && <line class="body" x1={x(0)} x2={x(stop.stop_mm)} y1={BAR_Y} y2={BAR_Y} />}
          {stop &&
            step.binds.map(([from, to], i) => {
              const right = Math.min(to, stop.stop_mm);
              return right > from && <rect key={i} class="bind" x={x(from)} y={BAR_Y - 8} width={x(right) - x(from)} height={16} rx={3} />;
            })}
          {stop && <line class="tip-mark" x1={x(stop.stop_mm)} x2={x(stop.stop_mm)} y1={BAR_Y - 12} y2={BAR_Y + 12} />}
          {measured && <path class="measured-mark" d={`M${x(measured.depth_mm)} ${BAR_Y - 22} l-7 -12 h14 z`} />}
          {ticks(scale, 60).map(({ depth_mm, level }) => (
            <g key={depth_mm}>
              <line class="tick" x1={x(depth_mm)} x2={x(depth_mm)} y1={BAR_Y + 24} y2={BAR_Y + 24 + (level === 2 ? 10 : level === 1 ? 6 : 3)} />
              {level === 2 && (
                <text x={x(depth_mm)} y={BAR_Y + 50} text-anchor="middle">
                  {depth_mm}
                </text>
              )}
            </g>
          ))}
          <text x={x(end) + 16} y={BAR_Y + 50} text-anchor="start">
            mm
          </text>
        </svg>
      )}
    </div>
  );
}
