import { useSignal } from '@preact/signals';
import { type Run, measurable } from '../../model/chair/run';
import type { ChairSheet, ChairStep } from '../../model/chair/steps';
import * as format from '../../model/format';
import { store } from '../../model/store';
import { t } from '../../model/words';
import { DepthPad } from './DepthPad';
import { Over } from './Over';

/** Takes the depth of the foramen as the apex locator gives it; the plan then follows. */
export function DepthPanel({ step, sheet, run }: { step: ChairStep | null; sheet: ChairSheet; run: Run }) {
  const chosen = useSignal(step?.canal ?? sheet.canals[0]?.name ?? '');
  const canal = sheet.canals.find((c) => c.name === chosen.value);
  const save = async (depth_mm: number): Promise<void> => {
    const own = step?.canal === chosen.value ? step : null;
    store.openPanel(null);
    await store.chair.record('depth-measured', { canal: chosen.value, depth_mm, ...(own ? { step: own.key, ...(own.device === null ? {} : { device: own.device }) } : {}) });
    if (own?.doing === 'measure') await store.chair.next(own);
  };
  return (
    <Over title={t('chair.depthTitle')}>
      <div class="canals" role="radiogroup" aria-label={t('chair.canal')}>
        {sheet.canals.map((c) => (
          <label key={c.name}>
            <input type="radio" name="canal" checked={c.name === chosen.value} onChange={() => (chosen.value = c.name)} />
            {c.name}
          </label>
        ))}
      </div>
      {canal && (
        <p>
          {t('chair.expected')}: <b class="number">{format.plusMinus(canal.scan_working_mm, canal.foramen_sd_mm, 1, 'mm')}</b>
        </p>
      )}
      {canal && <DepthPad key={canal.name} label={t('chair.depthLabel')} range={measurable(canal)} start_mm={run.measured.get(canal.name)?.depth_mm ?? canal.scan_working_mm} save={(mm) => void save(mm)} />}
    </Over>
  );
}
