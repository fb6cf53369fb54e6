import { useSignal } from '@preact/signals';
import type { ScanDetail, Tooth } from '../api/documents';
import { findCanal } from '../model/actions/work';
import type { Brick, SectionPlane } from '../model/brick';
import { type CanalAt, canalAt, nearestPlace, sectionAxes } from '../model/canal';
import { edgeNames } from '../model/directions';
import * as format from '../model/format';
import { tissueWindows } from '../model/grey';
import { type GridSection, fittedPlane, gridSections, patientToPixel } from '../model/planes';
import { store } from '../model/store';
import { tissueLevels } from '../model/survey';
import { type Vec3, dot } from '../model/vec';
import { t } from '../model/words';
import { SectionPicture } from '../view/SectionPicture';

/** Width in mm of the section across the canal. */
const ACROSS_MM = 8;

/** The scan at the cursor: three sections of the voxel grid and one across the canal. */
export function CursorSections({ tooth, hasScan }: { tooth: Tooth; hasScan: boolean }) {
  const { brick, scan, cursor } = store.state.work;
  const zoom = useSignal(1);
  const now = cursor.value;
  const canal = now && findCanal(store.state, now.canal);
  if (!brick.value || !scan.value || !now || !canal) {
    return (
      <section class="card pictures" aria-label={t('sections.title')}>
        <p class="soft">{hasScan ? `${t('section.empty')} …` : t('sections.noScan')}</p>
      </section>
    );
  }
  const at = canalAt(canal, now.depth_mm);
  const shared = { brick: brick.value, scan: scan.value, at };
  return (
    <section class="card pictures" aria-label={t('sections.title')}>
      <Across {...shared} canal={canal.name} />
      {gridSections(brick.value.geometry).map((section) => (
        <GridPicture key={section.name} {...shared} section={section} tooth={tooth} zoom={zoom.value} />
      ))}
      <Tools scan={scan.value} zoom={zoom.value} setZoom={(value) => (zoom.value = value)} />
    </section>
  );
}

/** Moves the cursor along its canal. */
function stepDepth(steps: number): void {
  const now = store.state.work.cursor.value;
  if (now) store.pin({ canal: now.canal, depth_mm: Math.round((now.depth_mm + steps * 0.1) * 10) / 10 });
}

/** A press in a section brings the cursor to the nearest place of the nearest canal. */
function pinNearest(tooth: Tooth, point_P: Vec3): void {
  const place = nearestPlace(tooth.canals, point_P);
  if (place && place.distance_mm < 3) store.pin({ canal: place.canal, depth_mm: place.depth_mm });
}

interface PictureProps {
  brick: Brick;
  scan: ScanDetail;
  at: CanalAt;
}

function Across({ brick, scan, at, canal }: PictureProps & { canal: string }) {
  const { right, down } = sectionAxes(at.tangent);
  const where = `${canal} ${format.depth(at.depth_mm)}`;
  return (
    <SectionPicture
      title={`${t('section.across')} · ${where}`}
      label={t('section.at', { name: t('section.across'), where })}
      bricks={[brick]}
      grey={store.state.work.grey.value}
      greyRange={scan.grey.high - scan.grey.low}
      planeFor={(w, h) => ({ centre_P: at.point_P, right, down, mm_per_px: ACROSS_MM / Math.min(w, h) })}
      names={(plane) => edgeNames(plane.right, plane.down, store.state.work.frame.value)}
      onStep={stepDepth}
      onNudge={(x, y) => stepDepth(x + y)}
      onGrey={(window) => store.setWorkGrey(window)}
      overlay={(plane, w, h) => (
        <g class="outline" transform={`translate(${w / 2} ${h / 2}) rotate(${(at.long_axis_deg ?? 0).toFixed(1)})`}>
          <ellipse rx={(at.long_mm ?? at.diameter_mm) / 2 / plane.mm_per_px} ry={(at.short_mm ?? at.diameter_mm) / 2 / plane.mm_per_px} />
        </g>
      )}
    />
  );
}

function GridPicture({ brick, scan, at, section, tooth, zoom }: PictureProps & { section: GridSection; tooth: Tooth; zoom: number }) {
  const where = format.withUnit(format.fixed(dot(at.point_P, section.normal), 1), 'mm');
  return (
    <SectionPicture
      title={`${t(`section.${section.name}`)} ${where}`}
      label={t('section.at', { name: t(`section.${section.name}`), where })}
      bricks={[brick]}
      grey={store.state.work.grey.value}
      greyRange={scan.grey.high - scan.grey.low}
      planeFor={(w, h) => fittedPlane(brick.geometry, section, at.point_P, w, h, zoom)}
      onPoint={(p) => pinNearest(tooth, p)}
      onStep={stepDepth}
      onNudge={(x, y) => stepDepth(x + y)}
      onGrey={(window) => store.setWorkGrey(window)}
      overlay={(plane, w, h) => <Canals plane={plane} section={section} tooth={tooth} at={at} width={w} height={h} />}
    />
  );
}

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
              <path d={text((away) => Math.abs(away) < 0.35)} />
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

function Tools({ scan, zoom, setZoom }: { scan: ScanDetail; zoom: number; setZoom: (zoom: number) => void }) {
  const grey = store.state.work.grey.value;
  return (
    <div class="picture-tools" role="group" aria-label={t('grey.title')}>
      <button type="button" aria-label={t('section.closer')} title={t('section.closer')} disabled={zoom >= 8} onClick={() => setZoom(Math.min(8, zoom * 1.5))}>
        +
      </button>
      <button type="button" aria-label={t('section.wider')} title={t('section.wider')} disabled={zoom <= 1} onClick={() => setZoom(Math.max(1, zoom / 1.5))}>
        −
      </button>
      {tissueWindows(scan.grey, tissueLevels(scan.survey)).map((w) => (
        <button
          key={w.key}
          class="tissue"
          type="button"
          aria-pressed={Math.abs(w.low - grey.low) < 1 && Math.abs(w.high - grey.high) < 1}
          onClick={() => store.setWorkGrey({ low: w.low, high: w.high })}
        >
          {t(`grey.${w.key}`)}
        </button>
      ))}
    </div>
  );
}
