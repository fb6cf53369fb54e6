import { useSignal } from '@preact/signals';
import { type CanalAt, sectionAxes } from '../../model/canal';
import { edgeNames } from '../../model/directions';
import * as format from '../../model/format';
import { patientToPixel } from '../../model/planes';
import { store } from '../../model/store';
import { t } from '../../model/words';
import { SectionPicture } from '../../view/SectionPicture';
import type { AtCursor } from './Pictures';
import { OutlinePen } from './OutlinePen';
import { SectionHandles, editByKey } from './SectionHandles';
import { MeasuresOver, pictureInput } from './shared';

/** Width in mm of the section across the canal. */
const ACROSS_MM = 8;

/** The section at right angles to the canal at the cursor, with the outline that was fitted to it. */
export function Across({ brick, scan, at: live, canal }: AtCursor) {
  const frozen = useSignal<CanalAt | null>(null);
  const correcting = store.state.work.corrections.on.value;
  const drawing = correcting && store.state.work.pictures.tool.value === 'outline';
  const at = frozen.value ?? live;
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
      onKey={(key, far) => correcting && editByKey(canal.name, live, { right, down }, key, far)}
      planeFor={(w, h) => ({ centre_P: at.point_P, right, down, mm_per_px: ACROSS_MM / Math.min(w, h) })}
      names={(plane) => edgeNames(plane.right, plane.down, store.state.work.frame.value)}
      overlay={(plane, w, h) => (
        <>
          <Outline at={live} place={patientToPixel(plane, at.tangent, w, h, live.point_P)} mm_per_px={plane.mm_per_px} />
          {drawing && <OutlinePen canal={canal.name} at={live} plane={plane} width={w} height={h} frozen={frozen} />}
          {correcting && !drawing && <SectionHandles canal={canal.name} at={live} plane={plane} width={w} height={h} frozen={frozen} />}
          <MeasuresOver place={(p) => patientToPixel(plane, at.tangent, w, h, p)} />
        </>
      )}
    />
  );
}

/** The ellipse fitted to the canal. */
function Outline({ at, place, mm_per_px }: { at: CanalAt; place: { x: number; y: number }; mm_per_px: number }) {
  return (
    <g class="outline" transform={`translate(${place.x.toFixed(1)} ${place.y.toFixed(1)}) rotate(${(at.long_axis_deg ?? 0).toFixed(1)})`}>
      <ellipse rx={(at.long_mm ?? at.diameter_mm) / 2 / mm_per_px} ry={(at.short_mm ?? at.diameter_mm) / 2 / mm_per_px} />
    </g>
  );
}
