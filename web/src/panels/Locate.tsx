import { useSignal } from '@preact/signals';
import type { ScanDetail } from '../api/documents';
import type { SectionPlane } from '../model/brick';
import * as format from '../model/format';
import { type GridSection, fittedPlane, gridSections, patientToPixel, stepThrough } from '../model/planes';
import { tissueWindows } from '../model/grey';
import { said } from '../model/said';
import { store } from '../model/store';
import { surveySentences, tissueLevels } from '../model/survey';
import { type Vec3, add, dot, scale } from '../model/vec';
import { t } from '../model/words';
import { GreyControls } from '../view/GreyControls';
import { Message } from '../view/Message';
import { SectionPicture } from '../view/SectionPicture';
import { MarkSteps } from './MarkSteps';

export function Locate() {
  const scan = store.state.locate.scan.value;
  if (scan.state === 'waiting') return <p class="wait">{t('app.loading')} …</p>;
  if (scan.state === 'failed') {
    return (
      <div class="wait">
        <Message sentence={scan.sentence} />
      </div>
    );
  }
  return <Ready scan={scan.value} />;
}

function Ready({ scan }: { scan: ScanDetail }) {
  const { grey, step } = store.state.locate;
  const zoom = useSignal(1);
  const sections = gridSections(scan.geometry);
  return (
    <div class="locate">
      <div class="sections three">
        {sections.map((section) => (
          <LocateSection key={section.name} scan={scan} section={section} zoom={zoom.value} />
        ))}
        <div class="tools">
          <div class="zoom">
            <button type="button" disabled={zoom.value <= 1} onClick={() => (zoom.value = Math.max(1, zoom.value / 1.5))}>
              − {t('section.wider')}
            </button>
            <button type="button" disabled={zoom.value >= 12} onClick={() => (zoom.value = Math.min(12, zoom.value * 1.5))}>
              + {t('section.closer')}
            </button>
          </div>
          <GreyControls
            grey={grey.value}
            whole={scan.grey}
            tissues={tissueWindows(scan.grey, tissueLevels(scan.survey))}
            set={(window) => store.setLocateGrey(window)}
          />
          <ScanSays scan={scan} />
          <p class="soft">
            {t('locate.keys')}
            {step.value > 1 && ` ${t('fact.voxel', { value: format.voxel(scan.geometry.spacing_mm) })}, ${t('locate.coarse', { n: step.value })}.`}
          </p>
        </div>
      </div>
      <MarkSteps />
    </div>
  );
}

/** What the survey found: problems first, then what canals the scan can show. */
function ScanSays({ scan }: { scan: ScanDetail }) {
  if (!scan.survey) {
    return (
      <p role="status" class="soft">
        {t('locate.measuring')} …
      </p>
    );
  }
  const { problems, verdict } = surveySentences(scan.survey);
  if (problems.length + verdict.length === 0) return null;
  return (
    <section class="scan-says" aria-labelledby="scan-says-title">
      <h2 id="scan-says-title">{t('locate.scanSays')}</h2>
      <ul>
        {problems.map((sentence) => (
          <li key={sentence} class="problem">
            {said(sentence)}
          </li>
        ))}
        {verdict.map((sentence) => (
          <li key={sentence}>{said(sentence)}</li>
        ))}
      </ul>
    </section>
  );
}

function LocateSection({ scan, section, zoom }: { scan: ScanDetail; section: GridSection; zoom: number }) {
  const l = store.state.locate;
  const crosshair = l.crosshair_P.value;
  const bricks = [l.fine.value, l.coarse.value].filter((b) => b !== null);
  const spacing = scan.geometry.spacing_mm;
  const where = format.withUnit(format.fixed(dot(crosshair, section.normal), 1), 'mm');
  const nudge = (right: number, down: number): void => {
    const by = add(scale(section.right, right * spacing[0]), scale(section.down, down * spacing[1]));
    store.moveCrosshair(add(crosshair, by));
  };
  return (
    <SectionPicture
      title={`${t(`section.${section.name}`)} ${where}`}
      label={t('section.at', { name: t(`section.${section.name}`), where })}
      bricks={bricks}
      grey={l.grey.value}
      greyRange={scan.grey.high - scan.grey.low}
      planeFor={(w, h) => fittedPlane(scan.geometry, section, crosshair, w, h, zoom)}
      onPoint={(p) => store.clickSection(p)}
      onStep={(n) => store.moveCrosshair(stepThrough(scan.geometry, section, crosshair, section.name === 'axial' ? -n : n))}
      onNudge={nudge}
      onEnter={() => store.clickSection(crosshair)}
      onGrey={(window) => store.setLocateGrey(window)}
      overlay={(plane, w, h) => <Marks plane={plane} normal={section.normal} width={w} height={h} crosshair={crosshair} />}
    />
  );
}

interface MarksProps {
  plane: SectionPlane;
  normal: Vec3;
  width: number;
  height: number;
  crosshair: Vec3;
}

/** Crosshair and marks in a section. A mark away from the plane is drawn open, in the plane filled. */
function Marks({ plane, normal, width, height, crosshair }: MarksProps) {
  const { inside_P, reference_P, canals } = store.state.locate;
  const at = patientToPixel(plane, normal, width, height, crosshair);
  const gap = 9;
  const mark = (point: Vec3 | null, shape: 'inside' | 'reference') => {
    if (!point) return null;
    const p = patientToPixel(plane, normal, width, height, point);
    const near = Math.abs(p.away_mm) < 0.6;
    return (
      <g class={`point ${shape} ${near ? 'near' : 'far'}`} transform={`translate(${p.x.toFixed(1)} ${p.y.toFixed(1)})`}>
        {shape === 'inside' ? <circle r="6" /> : <path d="M0 -7 L7 6 L-7 6 Z" />}
      </g>
    );
  };
  return (
    <>
      <g class="crosshair">
        <line x1={0} x2={at.x - gap} y1={at.y} y2={at.y} />
        <line x1={at.x + gap} x2={width} y1={at.y} y2={at.y} />
        <line x1={at.x} x2={at.x} y1={0} y2={at.y - gap} />
        <line x1={at.x} x2={at.x} y1={at.y + gap} y2={height} />
      </g>
      {canals.value.map((canal, i) => {
        const a = patientToPixel(plane, normal, width, height, canal.orifice_P);
        const b = canal.end_P && patientToPixel(plane, normal, width, height, canal.end_P);
        return (
          <g class="insisted" key={i}>
            {b && <line x1={a.x} y1={a.y} x2={b.x} y2={b.y} />}
            <rect x={a.x - 4} y={a.y - 4} width={8} height={8} />
            {b && <circle cx={b.x} cy={b.y} r={4} />}
          </g>
        );
      })}
      {mark(reference_P.value, 'reference')}
      {mark(inside_P.value, 'inside')}
    </>
  );
}
