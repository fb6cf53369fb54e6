import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Device } from '../../api/documents';
import { type Run, difference, stopOf } from '../../model/chair/run';
import type { ChairCanal, ChairSheet, ChairStep } from '../../model/chair/steps';
import { deviceLabel, sizeColour } from '../../model/device';
import * as format from '../../model/format';
import { said } from '../../model/said';
import { store } from '../../model/store';
import { t } from '../../model/words';
import { From } from '../OriginPanel';

const deviceOf = (step: ChairStep, sheet: ChairSheet): Device | undefined => sheet.devices.find((d) => d.id === step.device);

/** What a step is called: what to do, with what. */
export function stepName(step: ChairStep, sheet: ChairSheet): string {
  const device = deviceOf(step, sheet);
  const what = t(`chair.doing.${step.doing}`);
  return device ? `${what}: ${deviceLabel(device)}` : step.device === null ? what : `${what}: ${step.device}`;
}

/** Steps with a clock beside them. */
const RINSES: ReadonlySet<string> = new Set(['rinse', 'rinse-between', 'agitate']);

/** The step, large: canal, instrument, stop, what to feel for. */
export function StepFace({ step, sheet, run }: { step: ChairStep; sheet: ChairSheet; run: Run }) {
  const device = deviceOf(step, sheet);
  const canal = sheet.canals.find((c) => c.name === step.canal);
  const isDone = run.done.includes(step.key);
  return (
    <section class="face" aria-live="polite" aria-label={t('chair.now')}>
      <div class="what">
        <p class="canal">{step.canal}</p>
        <h2>
          {t(`chair.doing.${step.doing}`)}
          {isDone && <span class="done-mark"> ✓ {t('chair.isDone')}</span>}
        </h2>
        {(device || step.device) && (
          <p class="device-name">
            <i class={`size ${(device && sizeColour(device)) ?? 'none'}`} aria-hidden="true" />
            {device ? deviceLabel(device) : step.device}
            {device && device.name === undefined && <span class="soft number"> {t('chair.long', { mm: format.withUnit(format.fixed(device.length_mm, 0), 'mm') })}</span>}
          </p>
        )}
        {step.device === null && step.doing !== 'measure' && <p class="device-name">{t('chair.noDevice')}</p>}
        <Feel step={step} canal={canal} />
      </div>
      <div class="how-deep">
        <Stop step={step} run={run} canal={canal} />
        {RINSES.has(step.doing) && <RinseClock step={step} run={run} />}
        <Noted step={step} run={run} />
      </div>
    </section>
  );
}

function Stop({ step, run, canal }: { step: ChairStep; run: Run; canal: ChairCanal | undefined }) {
  const stop = stopOf(step, run);
  const found = canal ? difference(canal, run.measured.get(step.canal)) : null;
  return (
    <>
      {stop && (
        <p class="stop">
          <From of="stop">{t('chair.stop')}</From>
          <b class="number">{format.stopSetting(stop.stop_mm)}</b>
          {stop.held_back && <strong class="mind">{t('chair.heldBack')}</strong>}
        </p>
      )}
      {step.doing === 'measure' && canal && (
        <p class="stop">
          <From of="work">{t('chair.expected')}</From>
          <b class="number">{format.depth(canal.scan_working_mm)}</b>
          <span class="number">± {format.depth(canal.foramen_sd_mm)}</span>
        </p>
      )}
      {found && (
        <p class={found.notable ? 'measured mind' : 'measured'}>
          <From of="measured">
            {t(found.notable ? 'chair.measuredFar' : 'chair.measured', {
            depth: format.depth(found.measured_mm),
            by: format.depth(Math.abs(found.by_mm)),
            way: t(found.by_mm < 0 ? 'chair.shorter' : 'chair.deeper'),
            })}
          </From>
        </p>
      )}
    </>
  );
}

/** What to feel for: the rule of the trade, then what the computation expects here. */
function Feel({ step, canal }: { step: ChairStep; canal: ChairCanal | undefined }) {
  const first = step.binds[0];
  const last = step.binds.at(-1);
  const bends = canal?.curve && step.stop_mm !== null && step.stop_mm > canal.curve.depth_mm ? canal.curve : null;
  return (
    <ul class="feel">
      <li>
        <From of="feel">{t('chair.feelTitle')}</From> {t(`chair.feel.${step.doing}`)}
      </li>
      {first && last && <li>{t('chair.binds', { from: format.depth(first[0]), to: format.depth(last[1]) })}</li>}
      {bends && <li>{t('chair.bend', { depth: format.depth(bends.depth_mm), radius: format.radius(bends.radius_mm) })}</li>}
      {canal?.mind.map((text) => (
        <li key={text} class="mind">
          <span aria-hidden="true">⚠ </span>
          {said(text)}
        </li>
      ))}
    </ul>
  );
}

/** What went otherwise in this canal last, so that a press is seen to have been taken. */
function Noted({ step, run }: { step: ChairStep; run: Run }) {
  const last = run.deviations.find((e) => e.canal === step.canal && e.kind !== 'depth-measured');
  if (!last) return null;
  const what = [t(`log.${last.kind}`), last.depth_mm === undefined ? null : format.depth(last.depth_mm), last.text];
  return (
    <p class="noted">
      <span aria-hidden="true">✎ </span>
      {t('chair.noted', { time: last.at.slice(11, 16), what: what.filter(Boolean).join(' · ') })}
    </p>
  );
}

/** Counts up from the first drop; how long is enough is the clinician's to say. */
function RinseClock({ step, run }: { step: ChairStep; run: Run }) {
  const now_ms = useSignal(Date.now());
  const running = run.rinse;
  useEffect(() => {
    if (!running) return undefined;
    now_ms.value = Date.now();
    const ticking = setInterval(() => (now_ms.value = Date.now()), 250);
    return () => clearInterval(ticking);
  }, [running?.since]);
  const seconds = running ? Math.max(0, Math.floor((now_ms.value - Date.parse(running.since)) / 1000)) : 0;
  const total = (run.rinsed_s.get(step.canal) ?? 0) + (running?.canal === step.canal ? seconds : 0);
  return (
    <div class="clock">
      <b class="number" role="timer" aria-label={t('chair.clock')}>
        {format.clock(seconds)}
      </b>
      <button type="button" class="big" onClick={() => void store.chair.rinse(step)}>
        {t(running ? 'chair.rinseStop' : 'chair.rinseStart')}
      </button>
      <span class="soft number">{t('chair.rinsed', { canal: step.canal, time: format.clock(total) })}</span>
    </div>
  );
}
