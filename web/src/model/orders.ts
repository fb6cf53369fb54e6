import type { CanalPlan, Plan, Step } from '../api/documents';

/** An order of instruments that can be looked at beside another. */
export interface Order {
  key: string;
  canal: string;
  kind: 'planned' | (string & {});
  steps: readonly Step[];
  /** What an alternative gains and costs; empty for the plan's own. */
  sentence: string;
}

/** An instrument without a step, the kind of reason, and the sentence. */
export interface Unused {
  device: string;
  why: string;
  because?: Because;
}
/** Kinds of reasons, what the canal says first and what the drawer says last. */
export const REASONS = ['limit', 'outdone', 'size', 'length', 'twin', 'stock'] as const;
export type Because = (typeof REASONS)[number];

/** Keys a plan may have; older programs leave them out. */
interface More {
  alternatives?: readonly { kind: string; order: readonly Step[]; sentence: string }[];
  unused?: readonly Unused[];
  risks?: Risks | null;
}

export interface Risks {
  any: number;
  any_interval: readonly number[];
  sentence: string;
  risks: readonly { kind: string; probability: number; interval: readonly number[]; sentence: string; driver?: { what: string; share: number; assumed: boolean } | null }[];
}

const more = (canal: CanalPlan): More => canal as unknown as More;

export const unusedOf = (canal: CanalPlan): readonly Unused[] => more(canal).unused ?? [];

/** The instruments without a step by the kind of reason; plans of earlier programs, which do not say it, in one heap. */
export function unusedByReason(canal: CanalPlan): { because: Because; instruments: readonly Unused[] }[] {
  return REASONS.map((because) => ({ because, instruments: unusedOf(canal).filter((u) => (u.because ?? 'limit') === because) })).filter((group) => group.instruments.length > 0);
}
export const risksOf = (canal: CanalPlan): Risks | null => more(canal).risks ?? null;

/** Every order of a plan: each canal's own, then what else would do. */
export function ordersOf(plan: Plan): Order[] {
  return plan.canals.flatMap((canal) => [
    { key: `${canal.canal}/planned`, canal: canal.canal, kind: 'planned', steps: canal.order, sentence: '' },
    ...(more(canal).alternatives ?? []).map((a, i) => ({ key: `${canal.canal}/${a.kind}/${i}`, canal: canal.canal, kind: a.kind, steps: a.order, sentence: a.sentence })),
  ]);
}

/** The two to begin with: a canal's own order and its first alternative, else that of the next canal. */
export function firstPair(orders: readonly Order[], canal: string | undefined): [string, string] {
  const own = orders.find((o) => o.canal === canal && o.kind === 'planned') ?? orders[0];
  const other = orders.find((o) => o.canal === own?.canal && o.kind !== 'planned') ?? orders.find((o) => o.key !== own?.key) ?? own;
  return [own?.key ?? '', other?.key ?? ''];
}

/** What an order comes to. A figure some step does not tell is undefined. */
export interface Sum {
  instruments: number;
  last: string | undefined;
  removed_mm3: number | undefined;
  wall_left_mm: number | undefined;
  transport_mm: number | undefined;
}

export function sumOf(order: Order): Sum {
  const known = <T>(values: readonly (T | null | undefined)[]): T[] | undefined => {
    const there = values.filter((v): v is T => v !== null && v !== undefined);
    return there.length === values.length && there.length > 0 ? there : undefined;
  };
  const walls = order.steps.map((s) => s.wall_left_mm).filter((w): w is number => typeof w === 'number');
  const removed = known(order.steps.map((s) => s.removed_mm3));
  const transport = known(order.steps.map((s) => s.transport_mm));
  return {
    instruments: new Set(order.steps.map((s) => s.device)).size,
    last: order.steps.at(-1)?.device,
    removed_mm3: removed?.reduce((a, b) => a + b, 0),
    wall_left_mm: walls.length > 0 ? Math.min(...walls) : undefined,
    transport_mm: transport && Math.max(...transport),
  };
}

/** Takes less than this: nothing to speak of. As the program has it. */
const UNNOTICED_MM3 = 0.005;

/** The steps that take something away, with their place in the order. */
export const cuttingSteps = (canal: CanalPlan): { step: Step; number: number }[] =>
  canal.order.map((step, i) => ({ step, number: i + 1 })).filter(({ step }) => (step.removed_mm3 ?? 0) >= UNNOTICED_MM3);

/** The last instrument only finds the way: a hand file of at most 010 at the working depth. */
export const findsTheWayOnly = (canal: CanalPlan): boolean => !!canal.final && canal.final.tip_mm < 0.105 && canal.order.at(-1)?.kind === 'hand-file';

/** Devices that only one of two orders uses. */
export function onlyIn(order: Order, other: Order): ReadonlySet<string> {
  const others = new Set(other.steps.map((s) => s.device));
  return new Set(order.steps.map((s) => s.device).filter((d) => !others.has(d)));
}
