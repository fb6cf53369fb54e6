import type { Survey } from '../api/documents';
import type { TissueLevels } from './grey';

/** Grey levels of the tissues a survey names; what it does not name is left out. */
export function tissueLevels(survey: Survey | undefined): TissueLevels {
  const levels: TissueLevels = {};
  for (const { name, grey } of survey?.tissues ?? []) {
    if (name === 'soft tissue') levels.soft = grey;
    // The survey cannot tell dentine from cortical bone, and says so in the name.
    if (name.startsWith('dentine')) levels.dentine = grey;
    if (name === 'enamel') levels.enamel = grey;
  }
  return levels;
}

/** What the survey says the scan can and cannot show, problems first. */
export const surveySentences = (survey: Survey | undefined): { problems: readonly string[]; verdict: readonly string[] } => ({
  problems: survey?.problems ?? [],
  verdict: survey?.verdict ?? [],
});
