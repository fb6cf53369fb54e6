import { sectionAxes } from '../../model/canal';
import { edgeNames } from '../../model/directions';
import * as format from '../../model/format';
import { patientToPixel } from '../../model/planes';
import { store } from '../../model/store';
import { t } from '../../model/words';
import { SectionPicture } from '../../view/SectionPicture';
import type { AtCursor } from './Pictures';
import { MeasuresOver, pictureInput } from './shared';

/** Width in mm of the section across the canal. */
const ACROSS_MM = 8;

/** The section at right angles to the canal at the cursor, with the outline that was fitted to it. */
export function Across({ brick, scan, at, canal }: AtCursor) {
  const { right, down } = sectionAxes(at.tangent);
  const where = `${canal.name} ${format.depth(at.depth_mm)}`;
  return (
    <SectionPicture
      {...pictureInput}
      class="across-picture"
      title={`${t('across.title')} · ${where}`}
      label={t('section.at', { name: t('section.across'), where })}
      bricks={[brick]}
      layer={store.state.work.pictures.layer.value}
      grey={store.state.work.grey.value}
      greyRange={scan.grey.high - scan.grey.low}
      planeFor={(w, h) => ({ centre_P: at.point_P, right, down, mm_per_px: ACROSS_MM / Math.min(w, h) })}
      names={(plane) => edgeNames(plane.right, plane.down, store.state.work.frame.value)}
      overlay={(plane, w, h) => (
        <>
          <g class="outline" transform={`translate(${w / 2} ${h / 2}) rotate(${(at.long_axis_deg ?? 0).toFixed(1)})`}>
            <ellipse rx={(at.long_mm ?? at.diameter_mm) / 2 / plane.mm_per_px} ry={(at.short_mm ?? at.diameter_mm) / 2 / plane.mm_per_px} />
          </g>
          <MeasuresOver place={(p) => patientToPixel(plane, at.tangent, w, h, p)} />
        </>
      )}
    />
  );
}
