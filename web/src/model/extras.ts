import type { Passage } from '../api/documents';
import * as format from './format';
import type { OriginName } from './origins';
import { t } from './words';

export interface Extra {
  key: 'preBend' | 'withdrawal' | 'fit' | 'tugBack';
  of: OriginName;
  value: string;
}

/** Less is shown as nothing: a device that hardly bends, an end that its tolerance does not move. */
const LEAST_MOMENT_MNM = 0.01;
const LEAST_BAND_MM = 0.1;

/** What is said of some devices only: how to bend it before, what it does on the way out, where its shape lets it stop, how hard it holds. */
export function extrasOf(passage: Passage): Extra[] {
  const extras: Extra[] = [];
  const { pre_bend, withdrawal, fit, tug_back } = passage;
  if (pre_bend) {
    const [from = 0, to = 0] = pre_bend.from_tip_mm;
    extras.push({ key: 'preBend', of: 'bend', value: t('at.preBendValue', { radius: format.radius(pre_bend.bend_to_radius_mm), from: format.fixed(from, 1), to: format.depth(to) }) });
  }
  if (withdrawal && withdrawal.moment_mNm >= LEAST_MOMENT_MNM) {
    const { set_radius_mm: kept } = withdrawal;
    const after = kept === undefined ? t('at.springsBack') : t('at.keeps', { radius: format.radius(kept) });
    extras.push({ key: 'withdrawal', of: 'bend', value: t('at.withdrawalValue', { moment: format.torque(withdrawal.moment_mNm), half: format.torque(withdrawal.moment_at_half_mNm), after }) });
  }
  if (fit) {
    const [shallowest = 0, deepest = 0] = fit.reaches_mm;
    if (deepest - shallowest >= LEAST_BAND_MM) extras.push({ key: 'fit', of: 'reach', value: t('at.fitValue', { from: format.fixed(shallowest, 1), to: format.depth(deepest) }) });
  }
  if (tug_back) {
    const [low, high] = tug_back.range_N ?? [];
    const band = low === undefined || high === undefined ? '' : ` (${t('at.cyclesValue', { low: format.fixed(low, 2), high: format.fixed(high, 2) })})`;
    extras.push({ key: 'tugBack', of: 'tugBack', value: t('at.tugBackValue', { force: format.force(tug_back.force_N) + band, push: format.force(tug_back.seated_with_N) }) });
  }
  return extras;
}
