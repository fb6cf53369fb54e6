import { CHAIR } from './chair';
import { CORRECT } from './correct';
import { FIGURES } from './figures';
import { GUIDE } from './guide';
import { LOCATE } from './locate';
import { PAGE } from './page';
import { PAPERS } from './papers';
import { PICTURES } from './pictures';
import { PLAN } from './plan';
import { RECORD } from './record';
import { RULER } from './ruler';
import { START } from './start';
import { STOCK } from './stock';

/** Every word the page shows, except those that come from the server: one file for each part of the page. */
export const ENGLISH = { ...PAGE, ...GUIDE, ...START, ...LOCATE, ...PICTURES, ...CORRECT, ...RULER, ...PLAN, ...FIGURES, ...CHAIR, ...RECORD, ...PAPERS, ...STOCK };
