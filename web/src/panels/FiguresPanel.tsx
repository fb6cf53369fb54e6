import type { CanalMeasures, Measures, View } from '../api/documents';
import * as format from '../model/format';
import type { OriginName } from '../model/origins';
import { store } from '../model/store';
import { t } from '../model/words';
import { Message } from '../view/Message';
import { From } from './OriginPanel';

/** The classical figures of each canal: how it bends in the usual radiograph and in truth, and its class. */
export function FiguresPanel() {
  const measures = store.state.work.measures.value;
  if (measures.state === 'waiting') {
    return (
      <p role="status" class="soft">
        {t('figures.waiting')} …
      </p>
    );
  }
  if (measures.state === 'failed') return <Message sentence={measures.sentence} />;
  return (
    <>
      <Roots measures={measures.value} />
      {measures.value.canals.map((canal) => (
        <CanalFigures key={canal.canal} canal={canal} />
      ))}
    </>
  );
}

function Roots({ measures }: { measures: Measures }) {
  return (
    <>
      <h3>
        <From of="class">{t('figures.roots')}</From>
        <span class="number">{measures.code}</span>
      </h3>
      <ul class="roots">
        {measures.roots.map((root) => (
          <li key={root.label}>
            <b>{root.label === '' ? t('figures.onlyRoot') : t('figures.root', { label: root.label })}</b> {root.canals.join(', ')}
            <span class="soft">
              {t('figures.course', { course: root.course })} · {t('figures.vertucci', { type: root.vertucci || t('figures.none') })}
            </span>
          </li>
        ))}
      </ul>
    </>
  );
}

const degrees = (value: number): string => `${format.fixed(value, 0)}°`;

const degreesOff = (sd_deg: number | undefined): string | undefined => (sd_deg === undefined ? undefined : `${format.deviation(sd_deg, 0)}°`);

const degreesWithSd = (value_deg: number, sd_deg: number | undefined): string => [degrees(value_deg), degreesOff(sd_deg)].filter(Boolean).join(' ');

/** An angle with the range that is left by where one sees the bend begin. */
function angle(view: View): string {
  const [low, high] = [format.fixed(view.schneider_low_deg, 0), format.fixed(view.schneider_high_deg, 0)];
  return low === high ? degrees(view.schneider_deg) : `${degrees(view.schneider_deg)} (${low}–${high}°)`;
}

const VIEWS = ['clinical', 'across', 'worst'] as const;

function CanalFigures({ canal }: { canal: CanalMeasures }) {
  const bent = canal.bends.length > 0;
  return (
    <article aria-label={t('plan.canal', { canal: canal.canal })}>
      <h3>
        {t('plan.canal', { canal: canal.canal })}
        <span class="number">{format.plusMinus(canal.depth_to_foramen_mm, canal.depth_sd_mm, 1, 'mm')}</span>
      </h3>
      <table class="figures-table">
        <thead>
          <tr>
            <td />
            {VIEWS.map((v) => (
              <th key={v} scope="col">
                {t(`figures.view.${v}`)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          <FigureRow of="schneider" name={t('figures.angle')} canal={canal} show={angle} sd={(v) => degreesOff(v.schneider_sd_deg)} />
          <FigureRow of="tangent" name={t('figures.tangent')} canal={canal} show={(v) => degrees(v.tangent_deg)} sd={(v) => degreesOff(v.tangent_sd_deg)} />
          <FigureRow
            of="arc"
            name={t('figures.radius')}
            canal={canal}
            show={(v) => (v.arc_radius_mm === undefined ? '–' : format.radius(v.arc_radius_mm))}
            sd={(v) => (v.arc_radius_sd_mm === undefined ? undefined : format.withUnit(format.deviation(v.arc_radius_sd_mm, 1), 'mm'))}
          />
        </tbody>
      </table>
      {canal.hidden_curvature_deg >= 5 && <p class="hidden-curve">{t('figures.hidden', { deg: degrees(canal.hidden_curvature_deg) })}</p>}
      {canal.s_shaped && <p class="hidden-curve">{t('figures.sShaped')}</p>}
      {!bent && <p class="soft">{t('figures.straight')}</p>}
      {canal.bends.map((bend) => (
        <button
          key={bend.from_mm}
          class="line"
          type="button"
          title={t('plan.show')}
          onClick={() => store.pin({ canal: canal.canal, depth_mm: bend.sharpest_mm })}
        >
          <span class="what number">{t('figures.bend', { from: format.fixed(bend.from_mm, 1), to: format.depth(bend.to_mm) })}</span>
          <span class="text">
            {t('figures.bendFigures', { angle: degreesWithSd(bend.angle_deg, bend.angle_sd_deg), radius: format.radius(bend.least_radius_mm), toward: bend.toward_name })}
            <span class="soft"> {t('figures.bendPlane', { deg: degrees(bend.plane_turn_deg) })}</span>
          </span>
        </button>
      ))}
      <Widths canal={canal} />
    </article>
  );
}

interface Figure {
  name: string;
  of: OriginName;
  canal: CanalMeasures;
  show: (view: View) => string;
  /** Its standard deviation, where the tooth states that of its centreline. */
  sd: (view: View) => string | undefined;
}

function FigureRow({ name, of, canal, show, sd }: Figure) {
  return (
    <tr>
      <th scope="row">
        <From of={of}>{name}</From>
      </th>
      {VIEWS.map((v) => (
        <td key={v} class="number">
          {show(canal.views[v])} <small class="soft">{sd(canal.views[v])}</small>
        </td>
      ))}
    </tr>
  );
}

function Widths({ canal }: { canal: CanalMeasures }) {
  return (
    <p class="widths">
      <span class="soft">
        <From of="width">{t('figures.widths')}</From>{' '}
      </span>
      {canal.widths.map((w) => (
        <button key={w.place} type="button" class="plain" title={t('plan.show')} onClick={() => store.pin({ canal: canal.canal, depth_mm: w.depth_mm })}>
          <span class="soft">{w.place === 'orifice' ? t('figures.place.orifice') : t('figures.place.short', { place: w.place })}</span> <span class="number">{format.plusMinus(w.diameter_mm, w.diameter_sd_mm, 2, 'mm')}</span>
        </button>
      ))}
    </p>
  );
}
