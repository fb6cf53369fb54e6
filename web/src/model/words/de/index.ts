import type { Table } from '../../words';
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

/** German. Each file has the keys of the English one of its name, held complete by the compiler and by a test. */
export const GERMAN: Table = { ...PAGE, ...GUIDE, ...START, ...LOCATE, ...PICTURES, ...CORRECT, ...RULER, ...PLAN, ...FIGURES, ...CHAIR, ...RECORD, ...PAPERS, ...STOCK };
