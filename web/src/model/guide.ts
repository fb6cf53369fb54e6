import type { Route } from './route';

/** Tips of the first guide on each page, by their number; the words are in the language files. */
export const TIPS: Readonly<Record<Route['page'], number>> = { start: 2, stock: 0, locate: 3, work: 6, chair: 4 };

/** What the first page has to offer a beginner. */
export type Offer = 'case' | 'scan' | 'nothing';

/** The tip's key: on the first page the first tip depends on what there is. */
export function tipKey(page: Route['page'], tip: number, offer: Offer): string {
  return page === 'start' && tip === 0 ? `guide.start.${offer}` : `guide.${page}.${tip}`;
}
