import type { CanalPlan } from '../api/documents';
import { shortLabel } from '../model/device';
import * as format from '../model/format';
import { cuttingSteps } from '../model/orders';
import { said } from '../model/said';
import { store } from '../model/store';
import { t } from '../model/words';
import { From } from './OriginPanel';

const short = (id: string): string => {
  const device = store.device(id);
  return device ? shortLabel(device) : id;
};

const at = (value: string, depth_mm: number | null | undefined): string => (typeof depth_mm === 'number' ? t('plan.valueAt', { value, depth: format.depth(depth_mm) }) : value);

/** What each instrument of a canal's order takes away, and the order as a whole. */
export function RemovalPart({ canal }: { canal: CanalPlan }) {
  if (!canal.removal) return null;
  const steps = cuttingSteps(canal);
  return (
    <details class="removal" open={canal.removal.danger_zone}>
      <summary>{t('plan.removal')}</summary>
      {steps.length > 0 && (
        <table>
          <thead>
            <tr>
              <th scope="col">{t('plan.order')}</th>
              <th scope="col">mm³</th>
              <th scope="col">{t('plan.col.untouched')}</th>
              <th scope="col">
                <From of="wallLeft">{t('plan.col.shift')}</From>
              </th>
              <th scope="col">{t('plan.col.centring')}</th>
              <th scope="col">
                <From of="wallLeft">{t('plan.col.wall')}</From>
              </th>
            </tr>
          </thead>
          <tbody>
            {steps.map(({ step, number }) => (
              <tr key={number}>
                <th scope="row">
                  {number} {short(step.device)}
                </th>
                <td class="number">{format.fixed(step.removed_mm3 ?? 0, 2)}</td>
                <td class="number">{typeof step.untouched_share === 'number' ? format.probability(step.untouched_share) : '–'}</td>
                <td class="number">{(step.transport_mm ?? 0) < 0.005 ? '–' : at(format.width(step.transport_mm ?? 0), step.transport_depth_mm)}</td>
                <td class="number">{typeof step.centring === 'number' && (step.transport_mm ?? 0) >= 0.015 ? format.probability(step.centring) : '–'}</td>
                <td class="number">{typeof step.wall_left_mm === 'number' ? at(format.width(step.wall_left_mm), step.wall_left_depth_mm) : '–'}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <ul class="notes">
        {canal.removal.sentences.map((sentence) => (
          <li key={sentence}>{said(sentence)}</li>
        ))}
      </ul>
    </details>
  );
}
