/**
 * Where every number comes from: the method page under docs/methods and the keys of its sources in docs/references.bib.
 * The explanation itself is in the language files under `origin.NAME`.
 */
export const ORIGINS = {
  depth: { method: 'tracing', sources: [] },
  foramen: { method: 'tracing', sources: [] },
  presence: { method: 'tracing', sources: [] },
  width: { method: 'tracing', sources: ['Rose1948'] },
  curve: { method: 'curvature', sources: ['DoCarmo1976', 'Estrela2008'] },
  wall: { method: 'tooth-surface', sources: ['LimStock1987'] },
  strain: { method: 'passage', sources: ['Euler1744', 'ISO3630-1'] },
  contact: { method: 'passage', sources: ['Mehrotra1992'] },
  push: { method: 'passage', sources: ['Johancsik1984', 'DawsonPaslay1984'] },
  torque: { method: 'passage', sources: ['Johancsik1984'] },
  cycles: { method: 'passage', sources: ['Cheung2007'] },
  bend: { method: 'passage', sources: [] },
  tugBack: { method: 'passage', sources: [] },
  reach: { method: 'passage', sources: ['Mehrotra1992', 'HeKyllingstad1995'] },
  stop: { method: 'plan', sources: [] },
  work: { method: 'plan', sources: ['Wu2000'] },
  wallLeft: { method: 'shaping', sources: ['Archard1953', 'LimStock1987'] },
  order: { method: 'plan', sources: [] },
  risk: { method: 'plan', sources: ['Wilson1927'] },
  schneider: { method: 'curvature', sources: ['Schneider1971'] },
  tangent: { method: 'curvature', sources: ['Weine1982', 'Pruett1997'] },
  arc: { method: 'curvature', sources: ['Pruett1997'] },
  class: { method: 'canal-classes', sources: ['Vertucci1984', 'Ahmed2017'] },
  scan: { method: 'survey', sources: ['Rose1948'] },
  feel: { method: 'plan', sources: [] },
  measured: { method: 'plan', sources: [] },
} as const;

export type OriginName = keyof typeof ORIGINS;

/** A source as a reader knows it, from its key: "Schneider1971" is Schneider 1971. */
export const sourceName = (key: string): string => key.replace(/^([A-Za-z]+?)((?:19|20|17)\d\d)$/, '$1 $2').replace(/([a-z])(?=[A-Z])/g, '$1, ').replace(/^ISO(\d+)/, 'ISO $1');
