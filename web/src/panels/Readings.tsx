import type { ComponentChildren } from 'preact';
import type { Canal, Passage } from '../api/documents';
import { findCanal, passageOf } from '../model/actions/work';
import { type CanalAt, canalAt, firstDepth, wallCounts } from '../model/canal';
import { deviceLabel, diameterAt } from '../model/device';
import { extrasOf } from '../model/extras';
import * as format from '../model/format';
import { directionName } from '../model/directions';
import { type Wanted, profileAt, wantedOf } from '../model/lanes';
import type { OriginName } from '../model/origins';
import { curveRisk, wallRisk } from '../model/risk';
import type { Row } from '../model/state';
import { said } from '../model/said';
import { store } from '../model/store';
import { t } from '../model/words';
import { From } from './OriginPanel';
import { CrossSection } from '../view/CrossSection';

/** What is known at the cursor: of the canal, of the chosen device there, and a picture across. */
export function Readings() {
  const cursor = store.state.work.cursor.value;
  const canal = cursor && findCanal(store.state, cursor.canal);
  if (!cursor || !canal) {
    return (
      <section class="card readings">
        <p class="soft">{t('at.none')}</p>
      </section>
    );
  }
  const at = canalAt(canal, cursor.depth_mm);
  const inCrown = cursor.depth_mm < firstDepth(canal) - 0.05;
  const selected = store.state.work.selected.value;
  const row = selected?.canal === canal.name ? selected : null;
  return (
    <section class="card readings" aria-labelledby="readings-title">
      <h2 id="readings-title">{t('at.title', { depth: format.depth(cursor.depth_mm), canal: canal.name })}</h2>
      <div class="readings-body">
        {inCrown ? <p class="soft">{t('at.inCrown')}</p> : <CanalFigures canal={canal} at={at} />}
        {!inCrown && <CrossSection canal={canal} at={at} frame={store.state.work.frame.value} device={row ? discOf(row, cursor.depth_mm) : null} size_px={104} />}
      </div>
      {row ? <DeviceFigures row={row} depth_mm={cursor.depth_mm} at={at} /> : <p class="soft hint">{t('at.noDevice')}</p>}
      {row && <Why passage={whyOf(row)} sentence={store.state.work.held.value.get(row.id)?.sentence ?? null} />}
    </section>
  );
}

interface FigureProps {
  name: string;
  /** Where the figure comes from. */
  of: OriginName;
  word?: ComponentChildren;
  whole?: boolean;
  children: ComponentChildren;
}

/** A name and its figure; a `whole` one takes a line of its own. */
function Figure({ name, of, word, whole, children }: FigureProps) {
  return (
    <div class={whole ? 'whole' : undefined}>
      <dt>
        <From of={of}>{name}</From>
      </dt>
      <dd class="number">{children}</dd>
      {word !== undefined && <dd class="word">{word}</dd>}
    </div>
  );
}

function CanalFigures({ canal, at }: { canal: Canal; at: CanalAt }) {
  const bent = at.curvature_per_mm ?? 0;
  const oval = at.short_mm !== undefined && at.long_mm !== undefined;
  const bend = curveRisk(bent);
  const thin = wallCounts(canal, at.depth_mm) ? wallRisk(at.wall_min_mm ?? Infinity) : null;
  const letter = at.wall_min_toward && directionName(at.wall_min_toward, store.state.work.frame.value);
  return (
    <dl class="of-canal">
      <Figure of="width" name={t('at.width')} word="">
        {format.plusMinus(at.diameter_mm, at.diameter_sd_mm, 2, 'mm')}
      </Figure>
      {oval && (
        <Figure of="width" name={t('at.shortLong')} word="">
          {`${format.fixed(at.short_mm ?? 0, 2)} / ${format.width(at.long_mm ?? 0)}`}
        </Figure>
      )}
      {at.curvature_per_mm !== undefined && (
        <Figure of="curve" name={t('at.curve')} word={bent < 0.02 ? '' : <Risk step={bend} word={t(`risk.${bend}`)} />}>
          {bent < 0.02 ? t('ruler.straight') : `R ${format.radius(1 / bent)}`}
        </Figure>
      )}
      {at.wall_min_mm !== undefined && (
        <Figure of="wall" name={t('at.wall')} word={thin === null ? t('at.rootEnds') : <Risk step={thin} word={t(`wallRisk.${thin}`)} />}>
          {format.width(at.wall_min_mm)} {letter}
        </Figure>
      )}
    </dl>
  );
}

function Risk({ step, word }: { step: number; word: string }) {
  return <span class={`risk-word risk-edge-${step}`}>{word}</span>;
}

function DeviceFigures({ row, depth_mm, at }: { row: Row; depth_mm: number; at: CanalAt }) {
  const device = store.device(row.device);
  const passage = passageOf(store.state, row);
  const held = store.state.work.held.value.get(row.id);
  const wanted = wantedFor(row);
  const here = profileAt(passage, depth_mm);
  const tip = held?.tip_depth_mm ?? passage?.reaches_mm;
  const width = device && tip !== undefined && tip >= depth_mm ? diameterAt(device, tip - depth_mm) : null;
  return (
    <>
      <h3>
        {device ? deviceLabel(device) : row.device}
        <span class="soft">{t(`state.${held ? 'native' : stateOf(row)}`)}</span>
        {held && (
          <button type="button" onClick={() => store.rehearsal.letGo(row)}>
            {t('ruler.letGo')}
          </button>
        )}
      </h3>
      {!passage && <p class="soft">{t('app.loading')} …</p>}
      {passage && (
        <dl class="of-device" aria-busy={held?.busy ?? false}>
          <Figure of="reach" name={held ? t('ruler.held') : wanted?.held ? t('at.planned') : t('at.reach')}>{format.depth(tip ?? passage.reaches_mm)}</Figure>
          {!held && <Figure of="stop" name={t('at.stopSetting')}>{format.stopSetting(wanted?.stop_setting_mm ?? passage.stop_setting_mm)}</Figure>}
          <Figure of="strain" name={t('at.peak')}>{format.strain(passage.peak_strain)}</Figure>
          {passage.peak_strain_depth_mm !== undefined && <Figure of="strain" name={t('at.peakAt')}>{format.depth(passage.peak_strain_depth_mm)}</Figure>}
          <Figure of="push" name={t('at.push')}>{format.force(passage.push_force_N)}</Figure>
          {passage.torque_mNm !== undefined && <Figure of="torque" name={t('at.torque')}>{format.torque(passage.torque_mNm)}</Figure>}
          <HereFigures here={here} width={width} at={at} />
          {passage.cycles_to_failure && (
            <Figure of="cycles" name={t('at.cycles')} whole>
              {t('at.cyclesValue', { low: format.rough(passage.cycles_to_failure.low), high: format.rough(passage.cycles_to_failure.high) })}
            </Figure>
          )}
          {extrasOf(passage).map(({ key, of, value }) => (
            <Figure key={key} of={of} name={t(`at.${key}`)} whole>
              {value}
            </Figure>
          ))}
        </dl>
      )}
    </>
  );
}

function HereFigures({ here, width, at }: { here: ReturnType<typeof profileAt>; width: number | null; at: CanalAt }) {
  if (!here) return width === null ? <Figure of="strain" name={t('at.strain')}>{t('at.notHere')}</Figure> : null;
  const lateral = Math.hypot(...here.offset_P);
  const gap = width === null ? null : (at.diameter_mm - width) / 2 - lateral;
  return (
    <>
      <Figure of="strain" name={t('at.strain')}>{format.strain(here.strain)}</Figure>
      <Figure of="contact" name={t('at.contact')}>
        {here.contact_N_per_mm > 0.0005 ? `${format.lineForce(here.contact_N_per_mm)} ${directionName(here.toward_P, store.state.work.frame.value)}` : t('at.none.contact')}
      </Figure>
      {gap !== null && gap > 0 && <Figure of="contact" name={t('at.play')}>{format.width(gap)}</Figure>}
    </>
  );
}

/** In which state of the canal a bar's passage was found. */
function stateOf(row: Row): 'native' | 'during' | 'shaped' {
  const plan = store.state.work.plan.value;
  if (row.planPassage === null || plan.state !== 'ready') return 'native';
  return plan.value.passages[row.planPassage]?.canal_state ?? 'native';
}

function wantedFor(row: Row): Wanted | undefined {
  const plan = store.state.work.plan.value;
  return row.planPassage !== null && plan.state === 'ready' ? wantedOf(plan.value, row.planPassage) : undefined;
}

/** A device held by hand is where it is because it is held: what would stop it further on says nothing. */
const whyOf = (row: Row): Passage | undefined => (store.state.work.held.value.has(row.id) || wantedFor(row)?.held ? undefined : passageOf(store.state, row));

function Why({ passage, sentence }: { passage: Passage | undefined; sentence: string | null }) {
  if (sentence !== null) {
    return (
      <p class="message" role="alert">
        {said(sentence)}
      </p>
    );
  }
  if (!passage?.why) return null;
  return (
    <p class="why-line">
      <b>{t(`stop.${passage.stopped_by}`)}</b> · {said(passage.why)}
    </p>
  );
}

function discOf(row: Row, depth_mm: number) {
  const device = store.device(row.device);
  const passage = passageOf(store.state, row);
  const here = profileAt(passage, depth_mm);
  const tip = store.state.work.held.value.get(row.id)?.tip_depth_mm ?? passage?.reaches_mm;
  if (!device || !here || tip === undefined || tip < depth_mm) return null;
  return {
    diameter_mm: diameterAt(device, tip - depth_mm),
    offset_P: here.offset_P,
    toward_P: here.toward_P,
    presses: here.contact_N_per_mm > 0.0005,
  };
}

