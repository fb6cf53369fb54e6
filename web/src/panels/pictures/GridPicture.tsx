import type { Tooth } from '../../api/documents';
import type { SectionPlane } from '../../model/brick';
import type { CanalAt } from '../../model/canal';
import * as format from '../../model/format';
import { type GridSection, fittedPlane, patientToPixel } from '../../model/planes';
import { store } from '../../model/store';
import { dot } from '../../model/vec';
import { t } from '../../model/words';
import { SectionPicture } from '../../view/SectionPicture';
import type { AtCursor } from './Pictures';
import { MeasuresOver, pictureInput } from './shared';

/** A section of the voxel grid through the cursor. */
export function GridPicture({ brick, scan, at, tooth, section, zoom }: AtCursor & { section: GridSection; zoom: number }) {
  const where = format.withUnit(format.fixed(dot(at.point_P, section.normal), 1), 'mm');
  return (
    <SectionPicture
      {...pictureInput}
      title={`${t(`section.${section.name}`)} ${where}`}
      label={t('section.at', { name: t(`section.${section.name}`), where })}
      bricks={[brick]}
      layer={store.state.work.pictures.layer.value}
      grey={store.state.work.grey.value}
      greyRange={scan.grey.high - scan.grey.low}
      planeFor={(w, h) => fittedPlane(brick.geometry, section, at.point_P, w, h, zoom)}
      overlay={(plane, w, h) => (
        <>
          <Canals plane={plane} section={section} tooth={tooth} at={at} width={w} height={h} />
          <MeasuresOver place={(p) => patientToPixel(plane, section.normal, w, h, p)} />
        </>
      )}
    />
  );
}

/** Half the thickness in mm of what counts as lying in the plane of a section. */
const IN_PLANE_MM = 0.35;

/** Centrelines seen through the section, and the cursor. What lies in the plane is drawn full, the rest faint. */
function Canals({ plane, section, tooth, at, width, height }: { plane: SectionPlane; section: GridSection; tooth: Tooth; at: CanalAt; width: number; height: number }) {
  const c = patientToPixel(plane, section.normal, width, height, at.point_P);
  const gap = 8;
  return (
    <>
      {section.name !== 'axial' &&
        tooth.canals.map((canal) => {
          const places = canal.samples.point_mm.map((p) => patientToPixel(plane, section.normal, width, height, p));
          const text = (keep: (away: number) => boolean): string =>
            places.reduce((d, p, i) => {
              if (!keep(p.away_mm)) return d;
              const previous = places[i - 1];
              const move = !previous || !keep(previous.away_mm) ? 'M' : 'L';
              return `${d}${move}${p.x.toFixed(1)} ${p.y.toFixed(1)}`;
            }, '');
          return (
            <g class="centreline" key={canal.name}>
              <path class="away" d={text(() => true)} />
              <path d={text((away) => Math.abs(away) < IN_PLANE_MM)} />
            </g>
          );
        })}
      <g class="crosshair">
        <line x1={0} x2={c.x - gap} y1={c.y} y2={c.y} />
        <line x1={c.x + gap} x2={width} y1={c.y} y2={c.y} />
        <line x1={c.x} x2={c.x} y1={0} y2={c.y - gap} />
        <line x1={c.x} x2={c.x} y1={c.y + gap} y2={height} />
      </g>
    </>
  );
}
