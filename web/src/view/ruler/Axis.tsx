import { type Scale, ticks, toPx } from '../../model/ruler';
import { t } from '../../model/words';

const HEIGHT = 30;

/** The scale of the ruler; stays in sight while the lanes scroll. */
export function Axis({ scale, width }: { scale: Scale; width: number }) {
  const end = scale.left_px + scale.width_px;
  return (
    <svg class="axis" width={width} height={HEIGHT} role="img" aria-label={t('ruler.axis')}>
      <line x1={scale.left_px} x2={end} y1={HEIGHT - 1} y2={HEIGHT - 1} />
      {ticks(scale).map(({ depth_mm, level }) => {
        const x = toPx(scale, depth_mm);
        return (
          <g key={depth_mm}>
            <line x1={x} x2={x} y1={HEIGHT - 1} y2={HEIGHT - 1 - (level === 2 ? 9 : level === 1 ? 6 : 3)} />
            {level === 2 && (
              <text x={x} y={HEIGHT - 14} text-anchor="middle">
                {depth_mm}
              </text>
            )}
          </g>
        );
      })}
      <text x={end + 12} y={HEIGHT - 14} class="soft">
        mm
      </text>
    </svg>
  );
}
