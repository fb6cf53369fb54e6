import type { TissueLevels } from './grey';

/** The grey levels of tissues in a survey, whatever else it holds. Absent or odd values are left out. */
export function tissueLevels(survey: unknown): TissueLevels {
  const levels: TissueLevels = {};
  const record = asRecord(asRecord(survey)?.tissues) ?? asRecord(asRecord(survey)?.grey);
  if (!record) return levels;
  const read = (...names: string[]): number | undefined => {
    for (const name of names) {
      const entry = record[name];
      const value = typeof entry === 'number' ? entry : asRecord(entry)?.mean;
      if (typeof value === 'number' && Number.isFinite(value)) return value;
    }
    return undefined;
  };
  const soft = read('soft', 'soft_tissue', 'pulp');
  const bone = read('bone');
  const dentine = read('dentine');
  const enamel = read('enamel');
  if (soft !== undefined) levels.soft = soft;
  if (bone !== undefined) levels.bone = bone;
  if (dentine !== undefined) levels.dentine = dentine;
  if (enamel !== undefined) levels.enamel = enamel;
  return levels;
}

function asRecord(value: unknown): Record<string, unknown> | undefined {
  return typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as Record<string, unknown>) : undefined;
}
