import { computed, signal } from '@preact/signals';
import type { About, Candidate, CaseDetail, CaseSummary, Measures, Passage, Plan, PlanPassage, Scan, ScanDetail, ScanSource, Tray } from '../api/documents';
import type { Making } from './actions/slow';
import type { Brick } from './brick';
import type { Entry } from './chair/log';
import type { Waiting } from './chair/outbox';
import type { ChairSheet } from './chair/steps';
import { toothFrame } from './directions';
import type { GreyWindow } from './grey';
import type { OriginName } from './origins';
import { createCorrections } from './corrections';
import { createPictures } from './pictures';
import type { Route } from './route';
import { type Settings, readSettings } from './settings';
import type { Vec3 } from './vec';

/** A value that is fetched: not yet, there, or not to be had and why. */
export type Fetched<T> = { state: 'waiting' } | { state: 'ready'; value: T } | { state: 'failed'; sentence: string };
export const WAITING = { state: 'waiting' } as const;

export interface Cursor {
  canal: string;
  depth_mm: number;
}

/** A bar in a lane: a device in the canal as it is, or a passage of the plan in the canal as shaped by then. */
export interface Row {
  id: string;
  canal: string;
  device: string;
  /** Position in the plan's passages; null for the canal as it is. */
  planPassage: number | null;
}

/** A device held at a depth by the user, with the server's answer for it. */
export interface Held {
  tip_depth_mm: number;
  passage: Passage | null;
  busy: boolean;
  sentence: string | null;
}

/** What stands beside the ruler. */
export type Beside = 'plan' | 'orders' | 'tray' | 'figures';
/** What is open over the chairside view. */
export type ChairPanel = 'depth' | 'note' | 'steps';
export type Tool = 'look' | 'inside' | 'reference' | 'canal';

/** A canal whose ends the user gives. */
export interface InsistedCanal {
  orifice_P: Vec3;
  end_P: Vec3 | null;
}

export interface Tracing {
  job: string;
  fraction: number;
  stage: string;
  startedAt_ms: number;
  cancelling: boolean;
}

/** Everything the page knows. Only the actions in this folder write to it; views read. */
export function createState() {
  const hover = signal<Cursor | null>(null);
  const pinned = signal<Cursor | null>(null);
  const measures = signal<Fetched<Measures>>(WAITING);
  return {
    route: signal<Route>({ page: 'start' }),
    settings: signal<Settings>(readSettings(null, [])),
    about: signal<Fetched<About>>(WAITING),
    notice: signal<string | null>(null),
    /** The number whose origin is being explained. */
    origin: signal<OriginName | null>(null),

    start: {
      scans: signal<Fetched<Scan[]>>(WAITING),
      cases: signal<Fetched<CaseSummary[]>>(WAITING),
      busy: signal<string | null>(null),
      sentence: signal<string | null>(null),
      candidates: signal<{ source: ScanSource; series: readonly Candidate[] } | null>(null),
    },

    locate: {
      scan: signal<Fetched<ScanDetail>>(WAITING),
      coarse: signal<Brick | null>(null),
      fine: signal<Brick | null>(null),
      step: signal(1),
      crosshair_P: signal<Vec3>([0, 0, 0]),
      grey: signal<GreyWindow>({ low: 0, high: 1 }),
      tool: signal<Tool>('inside'),
      inside_P: signal<Vec3 | null>(null),
      reference_P: signal<Vec3 | null>(null),
      canals: signal<readonly InsistedCanal[]>([]),
      fdi: signal<string | null>(null),
      tracing: signal<Tracing | null>(null),
      sentence: signal<string | null>(null),
      cancelled: signal(false),
    },

    chair: {
      sheet: signal<Fetched<ChairSheet>>(WAITING),
      /** What the program has of the log, and what it does not have yet (of all cases). */
      entries: signal<readonly Entry[]>([]),
      waiting: signal<readonly Waiting[]>([]),
      link: signal<'there' | 'lost'>('there'),
      /** False where the browser keeps nothing: then a reload loses what waits. */
      safe: signal(true),
      making: signal<Making | null>(null),
      /** A step looked at out of turn. */
      viewed: signal<string | null>(null),
      panel: signal<ChairPanel | null>(null),
      /** Canals whose stops a new plan changed. */
      news: signal<readonly string[] | null>(null),
      /** Why the plan could not follow. */
      sentence: signal<string | null>(null),
    },

    work: {
      detail: signal<Fetched<CaseDetail>>(WAITING),
      scan: signal<ScanDetail | null>(null),
      measures,
      /** Directions at the tooth, once the measures tell them. */
      frame: computed(() => toothFrame(measures.value.state === 'ready' ? measures.value.value : null)),
      brick: signal<Brick | null>(null),
      grey: signal<GreyWindow>({ low: 0, high: 1 }),
      pictures: createPictures(),
      corrections: createCorrections(),
      tray: signal<Fetched<Tray>>(WAITING),
      passages: signal<Fetched<ReadonlyMap<string, Passage>>>(WAITING),
      plan: signal<Fetched<Plan>>(WAITING),
      /** How far the slow documents are. */
      making: { passages: signal<Making | null>(null), plan: signal<Making | null>(null) },
      rows: signal<readonly Row[]>([]),
      selected: signal<Row | null>(null),
      /** Passages with their profiles, by row, as they come. */
      profiles: signal<ReadonlyMap<string, Passage | PlanPassage>>(new Map()),
      held: signal<ReadonlyMap<string, Held>>(new Map()),
      hover,
      pinned,
      cursor: computed(() => hover.value ?? pinned.value),
      /** Canals whose bars are folded away. */
      folded: signal<ReadonlySet<string>>(new Set()),
      span: signal<'whole' | 'canals'>('whole'),
      beside: signal<Beside>('plan'),
      /** Canal the tray is looked at for; null: the cursor's. */
      trayFor: signal<string | null>(null),
      sentence: signal<string | null>(null),
    },
  };
}

export type State = ReturnType<typeof createState>;

export const passageKey = (canal: string, device: string): string => `${canal}\n${device}`;
export const rowId = (canal: string, device: string, planPassage: number | null): string =>
  planPassage === null ? `${canal}/${device}` : `${canal}/${device}/plan-${planPassage}`;
