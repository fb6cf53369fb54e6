import type { Measures } from '../api/documents';
import { directionLetter } from './grid';
import { type Vec3, dot } from './vec';

/** The directions at a tooth a dentist speaks of; null where they are not known and the patient's must do. */
export interface ToothFrame {
  buccal: Vec3;
  mesial: Vec3;
  /** In the upper jaw the inner side is palatal, P, in the lower lingual, L. */
  upper: boolean;
}

/** The frame the measures give, or null when the tooth number was not known. */
export function toothFrame(measures: Measures | null): ToothFrame | null {
  if (!measures?.frame.known) return null;
  return { buccal: measures.frame.buccal, mesial: measures.frame.mesial, upper: /^[12]/.test(measures.tooth.fdi) };
}

/**
 * Short name of a direction: the nearest of M, MB, B, DB, D, DL, L, ML (DP, P, MP in the upper jaw), or the
 * patient's L, R, P, A, S, I without a frame. Four names only when `quarters`.
 */
export function directionName(direction_P: Vec3, frame: ToothFrame | null, quarters = false): string {
  if (!frame) return directionLetter(direction_P);
  const inner = frame.upper ? 'P' : 'L';
  const turn = Math.atan2(dot(direction_P, frame.mesial), dot(direction_P, frame.buccal));
  if (quarters) return ['B', 'M', inner, 'D'][((Math.round(turn / (Math.PI / 2)) % 4) + 4) % 4] ?? '';
  return ['B', 'MB', 'M', `M${inner}`, inner, `D${inner}`, 'D', 'DB'][((Math.round(turn / (Math.PI / 4)) % 8) + 8) % 8] ?? '';
}

/** Names at the left, right, top and bottom of a section across a canal. */
export function edgeNames(right: Vec3, down: Vec3, frame: ToothFrame | null): { left: string; right: string; top: string; bottom: string } {
  const minus = (v: Vec3): Vec3 => [-v[0], -v[1], -v[2]];
  const name = (v: Vec3): string => directionName(v, frame, true);
  return { left: name(minus(right)), right: name(right), top: name(minus(down)), bottom: name(down) };
}
