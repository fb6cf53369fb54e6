import { useEffect, useState } from 'preact/hooks';
import * as format from '../model/format';
import type { Tool, Tracing } from '../model/state';
import { said } from '../model/said';
import { store } from '../model/store';
import type { Vec3 } from '../model/vec';
import { t } from '../model/words';
import { Choice } from '../view/Choice';
import { Message } from '../view/Message';
import { ToothNumbers } from '../view/ToothNumbers';

const TOOLS: readonly Tool[] = ['inside', 'reference', 'canal', 'look'];

const coordinates = (p: Vec3): string => format.withUnit(p.map((x) => format.fixed(x, 1)).join('  '), 'mm');

/** The three things to say before tracing, then its progress. */
export function MarkSteps() {
  const l = store.state.locate;
  const missing = l.inside_P.value === null ? t('locate.needInside') : l.fdi.value === null ? t('locate.needFdi') : null;
  return (
    <section class="card marking" aria-label={t('locate.title')}>
      <Choice
        name="tool"
        label={t('locate.tool')}
        value={l.tool.value}
        options={TOOLS.map((value) => ({ value, text: t(`locate.tool.${value}`) }))}
        choose={(tool) => store.setTool(tool)}
      />
      <div class="part">
        <h2>1 · {t('locate.step1')}</h2>
        <p class="soft">{t('locate.step1Help')}</p>
        <Place point={l.inside_P.value} shape="inside" />
      </div>
      <div class="part">
        <h2>2 · {t('locate.step2')}</h2>
        <p class="soft">{t('locate.step2Help')}</p>
        <ToothNumbers value={l.fdi.value} choose={(fdi) => store.setFdi(fdi)} />
      </div>
      <div class="part">
        <h2>3 · {t('locate.step3')}</h2>
        <p class="soft">{t('locate.step3Help')}</p>
        <Place point={l.reference_P.value} shape="reference" remove={() => store.clearReference()} />
      </div>
      <div class="part">
        <h2>4 · {t('locate.step4')}</h2>
        <p class="soft">{t('locate.step4Help')}</p>
        <ul>
          {l.canals.value.map((canal, i) => (
            <li class="place" key={i}>
              <span class="number">
                {canal.end_P
                  ? t('locate.canalEnds', { from: coordinates(canal.orifice_P), to: coordinates(canal.end_P) })
                  : t('locate.canalOpen', { from: coordinates(canal.orifice_P) })}
              </span>
              <button type="button" onClick={() => store.removeCanal(i)}>
                {t('locate.remove')}
              </button>
            </li>
          ))}
        </ul>
      </div>
      <div class="part last">
        {l.sentence.value !== null && <Message sentence={l.sentence.value} />}
        {l.cancelled.value && (
          <p class="message" role="status">
            {t('locate.cancelled')}
          </p>
        )}
        {l.tracing.value ? (
          <Progress tracing={l.tracing.value} />
        ) : (
          <>
            <button class="act" type="button" disabled={missing !== null} aria-describedby="trace-needs" onClick={() => void store.trace()}>
              {t('locate.trace')}
            </button>
            <p id="trace-needs" class="soft">
              {missing}
            </p>
          </>
        )}
      </div>
    </section>
  );
}

function Place({ point, shape, remove }: { point: Vec3 | null; shape: 'inside' | 'reference'; remove?: () => void }) {
  return (
    <p class="place">
      <svg viewBox="-9 -9 18 18" class={`point near ${shape}`} aria-hidden="true">
        {shape === 'inside' ? <circle r="6" /> : <path d="M0 -7 L7 6 L-7 6 Z" />}
      </svg>
      <span class={point ? 'number' : 'soft'}>{point ? `LPS ${coordinates(point)}` : t('locate.notMarked')}</span>
      {point && remove && (
        <button type="button" onClick={remove}>
          {t('locate.remove')}
        </button>
      )}
    </p>
  );
}

function Progress({ tracing }: { tracing: Tracing }) {
  const [now, setNow] = useState(Date.now());
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), 500);
    return () => clearInterval(timer);
  }, []);
  const seconds = Math.max(0, Math.round((now - tracing.startedAt_ms) / 1000));
  return (
    <div class="progress">
      <label for="trace-progress">
        <b>{t('locate.progress')}</b> {said(tracing.stage)}
      </label>
      <progress id="trace-progress" max={1} value={tracing.fraction} />
      <p>
        <span class="number">{format.percent(tracing.fraction)}</span>
        <span class="soft number">{t('locate.elapsed', { s: seconds })}</span>
        <button type="button" disabled={tracing.cancelling} onClick={() => void store.cancelTrace()}>
          {tracing.cancelling ? `${t('locate.cancelling')} …` : t('locate.cancel')}
        </button>
      </p>
    </div>
  );
}
