/** The documents that travel between page and server: those with a schema are generated, the rest is docs/http-api.md. */
import type { GridGeometry } from '../model/grid';
import type { Measures } from './types/measures';
import type { Passage, Passages } from './types/passages';
import type { Plan as PlanDocument } from './types/plan';
import type { Canal, Tooth } from './types/tooth';
import type { Device, Tray } from './types/tray';

export type { Canal, Device, Measures, Passage, Passages, Tooth, Tray };
export type { Canal as CanalMeasures, View } from './types/measures';
export type { Canal as CanalPlan, Passive, Step, Warning } from './types/plan';

/** A passage of a plan always says in which state of the canal it was found. */
export type PlanPassage = Passage & { canal_state?: 'native' | 'during' | 'shaped' };
export type Plan = Omit<PlanDocument, 'passages'> & { passages: PlanPassage[] };

export interface About {
  name: string;
  version: string;
  cautions: string[];
}

export interface Scan {
  id: string;
  label: string;
  invented: boolean;
  geometry: GridGeometry;
  series_uid: string;
  grey: { low: number; high: number };
}

/** What the page reads of an anfract.survey document. */
export interface Survey {
  tissues: { name: string; grey: number }[];
  problems: string[];
  verdict: string[];
}

export interface ScanDetail extends Scan {
  survey?: Survey;
}

/** Where a scan is: a path on this machine, or a file that was sent before. */
export type ScanSource = { path: string } | { upload: string };

export interface Candidate {
  series_uid: string;
  description: string;
  slices: number;
}

export interface CaseSummary {
  id: string;
  scan: string;
  fdi: string;
  label: string;
  invented: boolean;
  created: string;
}

export interface CaseDetail {
  id: string;
  scan: string;
  created: string;
  tooth: Tooth;
  /** Version of the tooth in the record; corrections say which one they were made from. */
  tooth_version: number;
}

export interface TraceRequest {
  inside_mm: readonly [number, number, number];
  fdi?: string;
  reference_mm?: readonly [number, number, number];
  canals?: readonly { orifice_mm: readonly [number, number, number]; end_mm: readonly [number, number, number] }[];
}

export interface RehearseRequest {
  canal: string;
  device: string;
  access?: 'axial' | 'straight';
  friction?: number;
  tip_depth_mm?: number;
}

type Point = readonly [number, number, number];

/** One correction of a traced tooth. */
export type Edit =
  | { kind: 'move-point'; canal: string; from_mm: Point; to_mm: Point }
  | { kind: 'section'; canal: string; centre_mm: Point; diameter_short_mm: number; diameter_long_mm: number; long_axis_deg: number }
  | { kind: 'outline'; canal: string; outline_mm: readonly Point[] }
  | { kind: 'add-canal'; orifice_mm: Point; end_mm: Point }
  | { kind: 'remove-canal'; canal: string }
  | { kind: 'move-reference'; to_mm: Point };

export interface EditList {
  edits: Edit[];
  /** Those taken back; the next to be done again stands last. */
  undone: Edit[];
}

/** The parts of a tooth that edits change. */
export type EditedParts = Pick<Tooth, 'canals' | 'reference_mm' | 'findings'> & EditList & Pick<CaseDetail, 'tooth_version'>;

export type JobEvent =
  /** The connection broke; the browser tries again by itself. */
  | { kind: 'lost' }
  | { kind: 'progress'; fraction: number; stage: string }
  | { kind: 'done'; caseId: string }
  | { kind: 'failed'; sentence: string }
  | { kind: 'cancelled' }
  /** The program was started anew and does not know the job any more. */
  | { kind: 'gone' };
