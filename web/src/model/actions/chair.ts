import { ServerError } from '../../api/client';
import type { CaseDetail, Plan, Tray } from '../../api/documents';
import { type Entry, type EntryKind, type NewEntry, joined, timestamp } from '../chair/log';
import { type Failure, type Kept, Outbox, type Shelving } from '../chair/outbox';
import { type Run, runOf } from '../chair/run';
import { type ChairSheet, type ChairStep, chairCanals, stepsOf } from '../chair/steps';
import { WAITING } from '../state';
import { type Context, sentenceOf } from './context';
import { slowly } from './slow';

/** How often the log is asked for what others wrote, and the queue is tried again. */
const BEAT_MS = 2000;
/** A pause after which the case counts as opened anew. */
const OPENED_AGAIN_MS = 30 * 60_000;

export type Shelf = Shelving & { keep(kept: Kept): Promise<void>; kept(caseId: string): Promise<Kept | undefined> };

/** What the chairside view does. The log is the only thing it changes; where the work stands is read from the log. */
export class Chair {
  private shelf: Shelf | null = null;
  private outbox: Outbox | null = null;
  private caseId: string | null = null;
  private beat: ReturnType<typeof setTimeout> | null = null;
  private refreshing: { caseId: string; done: Promise<void> } | null = null;
  /** Measured depths the plan on screen was made with. */
  private plannedWith = -1;

  constructor(
    private readonly context: Context,
    private readonly openShelf: () => Promise<Shelf>,
  ) {}

  /** Opens the queue and sends what an earlier visit left in it, whatever page is shown. */
  async start(): Promise<void> {
    if (this.outbox) return;
    const { state } = this.context;
    try {
      this.shelf = await this.openShelf();
    } catch {
      this.shelf = new MemoryShelf();
      state.chair.safe.value = false;
    }
    const post = { send: this.context.server.postLog, failure: failureOf };
    this.outbox = new Outbox(
      this.shelf,
      post,
      (items) => (state.chair.waiting.value = items),
      (caseId, entries) => this.take(caseId, entries),
    );
    await this.outbox.load();
    if (state.chair.waiting.value.length > 0) void this.outbox.send();
  }

  /** Opens a case at the chair: from the program, or from what is kept when the program is away. */
  async open(caseId: string): Promise<void> {
    this.leave();
    this.caseId = caseId;
    const c = this.context.state.chair;
    c.sheet.value = WAITING;
    c.entries.value = [];
    for (const s of [c.viewed, c.news, c.panel, c.sentence]) s.value = null;
    this.plannedWith = -1;
    await this.start();
    const kept = await this.shelf?.kept(caseId).catch(() => undefined);
    if (this.caseId !== caseId) return;
    if (kept) {
      c.entries.value = kept.entries;
      c.sheet.value = { state: 'ready', value: kept.sheet };
    }
    await this.refresh();
    if (this.caseId !== caseId) return;
    if (c.sheet.value.state === 'ready') await this.sayOpened();
    this.beatOn();
  }

  leave(): void {
    if (this.beat !== null) clearTimeout(this.beat);
    this.beat = null;
    this.caseId = null;
  }

  private beatOn(): void {
    this.beat = setTimeout(() => {
      void this.refresh().finally(() => this.caseId !== null && this.beatOn());
    }, BEAT_MS);
  }

  /** Sends what waits, fetches what others wrote, and has the plan follow a newly measured depth; once at a time. */
  private refresh(): Promise<void> {
    const caseId = this.caseId;
    if (caseId === null) return Promise.resolve();
    if (this.refreshing?.caseId === caseId) return this.refreshing.done;
    const done = this.refreshOnce(caseId).finally(() => {
      if (this.refreshing?.done === done) this.refreshing = null;
    });
    this.refreshing = { caseId, done };
    return done;
  }

  private async refreshOnce(caseId: string): Promise<void> {
    const { state, server } = this.context;
    try {
      if (!(await this.outbox?.send())) throw new ServerError(0, 'unreachable', '');
      const { entries } = await server.getLog(caseId);
      if (this.caseId !== caseId) return;
      state.chair.link.value = 'there';
      const known = state.chair.entries.value;
      if (entries.length !== known.length || entries.at(-1)?.entry_id !== known.at(-1)?.entry_id) this.takeLog(entries);
      await this.followDepths(caseId);
    } catch (cause) {
      if (this.caseId !== caseId) return;
      if (failureOf(cause).kind === 'away') state.chair.link.value = 'lost';
      if (state.chair.sheet.value.state !== 'ready') state.chair.sheet.value = { state: 'failed', sentence: sentenceOf(cause) };
    }
  }

  /** Entries that decide how deep the plan goes. */
  private depthEntries(): number {
    return this.context.state.chair.entries.value.filter((e) => e.kind === 'depth-measured' || e.kind === 'correction').length;
  }

  private async followDepths(caseId: string): Promise<void> {
    const { state, server } = this.context;
    const c = state.chair;
    const depths = this.depthEntries();
    if (depths === this.plannedWith) return;
    const still = (): boolean => this.caseId === caseId;
    let plan: Plan;
    try {
      plan = await slowly(server, c.making, () => server.makeDocument(caseId, 'plan'), () => server.getPlan(caseId), still);
    } catch (cause) {
      if (failureOf(cause).kind === 'away' || c.sheet.value.state !== 'ready') throw cause;
      // No plan for that depth: the old one stands, and asking again would give the same answer.
      this.plannedWith = depths;
      c.sentence.value = sentenceOf(cause);
      return;
    }
    const [detail, tray] = await Promise.all([server.getCase(caseId), server.getTray()]);
    if (!still()) return;
    const before = c.sheet.value.state === 'ready' ? c.sheet.value.value : null;
    const after = sheetOf(detail, plan, tray);
    const changed = before && this.plannedWith >= 0 ? changedStops(before, after) : [];
    if (changed.length > 0) c.news.value = changed;
    c.sentence.value = null;
    this.plannedWith = depths;
    c.sheet.value = { state: 'ready', value: after };
    this.keep();
  }

  private async sayOpened(): Promise<void> {
    const last = this.entries().at(-1);
    if (!last || Date.now() - Date.parse(last.at) > OPENED_AGAIN_MS) await this.record('opened', {});
  }

  entries(): readonly NewEntry[] {
    const { entries, waiting } = this.context.state.chair;
    return joined(entries.value, waiting.value.filter((w) => w.caseId === this.caseId && w.refused === undefined).map((w) => w.entry));
  }

  run(): Run {
    const { sheet } = this.context.state.chair;
    return runOf(sheet.value.state === 'ready' ? sheet.value.value.steps : [], this.entries());
  }

  /** Writes into the log: first on the shelf of this browser, then to the program. */
  async record(kind: EntryKind, what: Omit<Partial<NewEntry>, 'entry_id' | 'at' | 'kind'>): Promise<void> {
    if (this.caseId === null || !this.outbox) return;
    await this.outbox.record(this.caseId, { entry_id: crypto.randomUUID(), at: timestamp(new Date()), kind, ...what });
    void this.outbox.send().then(async (sent) => {
      this.context.state.chair.link.value = sent ? 'there' : 'lost';
      // A depth is answered by a new plan at once, not at the next beat.
      if (sent && kind === 'depth-measured') await this.refresh();
    });
  }

  /** The step on screen is done. */
  async next(step: ChairStep): Promise<void> {
    const c = this.context.state.chair;
    const { done, rinse } = this.run();
    c.viewed.value = null;
    c.news.value = null;
    if (rinse?.step === step.key) await this.rinse(step);
    if (!done.includes(step.key)) await this.record('step-done', about(step));
  }

  /** Takes back the step done last. */
  async undo(): Promise<void> {
    const c = this.context.state.chair;
    const key = this.run().done.at(-1);
    if (key === undefined) return;
    const step = c.sheet.value.state === 'ready' ? c.sheet.value.value.steps.find((s) => s.key === key) : undefined;
    c.viewed.value = null;
    await this.record('step-undone', step ? about(step) : { step: key });
  }

  /** Starts or stops the clock of a rinse. */
  async rinse(step: ChairStep): Promise<void> {
    const { rinse } = this.run();
    if (rinse) await this.record('rinse-stopped', { ...about(step), canal: rinse.canal, seconds: Math.max(0, Math.round((Date.now() - Date.parse(rinse.since)) / 1000)) });
    else await this.record('rinse-started', about(step));
  }

  private take(caseId: string, entries: readonly Entry[]): void {
    if (caseId !== this.caseId) return;
    const known = this.context.state.chair.entries.value;
    const news = entries.filter((e) => !known.some((k) => k.entry_id === e.entry_id));
    if (news.length > 0) this.takeLog([...known, ...news].sort((a, b) => a.sequence - b.sequence));
  }

  private takeLog(entries: readonly Entry[]): void {
    this.context.state.chair.entries.value = entries;
    this.keep();
  }

  private keep(): void {
    const { sheet, entries } = this.context.state.chair;
    if (this.caseId === null || sheet.value.state !== 'ready') return;
    void this.shelf?.keep({ caseId: this.caseId, sheet: sheet.value.value, entries: entries.value }).catch(() => (this.context.state.chair.safe.value = false));
  }
}

const about = (step: ChairStep): Pick<NewEntry, 'canal' | 'device' | 'step'> => ({ canal: step.canal, step: step.key, ...(step.device === null ? {} : { device: step.device }) });

function sheetOf(detail: CaseDetail, plan: Plan, tray: Tray): ChairSheet {
  const steps = stepsOf(plan);
  const used = new Set(steps.map((s) => s.device));
  return {
    caseId: detail.id,
    fdi: detail.tooth.tooth.fdi,
    invented: detail.tooth.invented === true,
    canals: chairCanals(plan, detail.tooth.canals),
    steps,
    devices: tray.devices.filter((d) => used.has(d.id)),
    cautions: plan.cautions,
  };
}

/** Names of the canals whose stops are set differently now. */
function changedStops(before: ChairSheet, after: ChairSheet): readonly string[] {
  const old = new Map(before.steps.map((s) => [s.key, s.stop_mm]));
  const changed = after.steps.filter((s) => !old.has(s.key) || Math.abs((old.get(s.key) ?? 0) - (s.stop_mm ?? 0)) > 0.005);
  return [...new Set(changed.map((s) => s.canal))];
}

function failureOf(cause: unknown): Failure {
  const refused = cause instanceof ServerError && cause.status >= 400 && cause.status < 500;
  return refused ? { kind: 'refused', sentence: cause.sentence } : { kind: 'away' };
}

/** Where the browser keeps nothing (a private window): entries last as long as the page, and the page says so. */
class MemoryShelf implements Shelf {
  private items: { order: number; caseId: string; entry: NewEntry; refused?: string }[] = [];
  private count = 0;

  async add(item: { caseId: string; entry: NewEntry }) {
    const added = { ...item, order: ++this.count };
    this.items.push(added);
    return added;
  }
  async replace(item: { order: number; caseId: string; entry: NewEntry; refused?: string }) {
    this.items = this.items.map((w) => (w.order === item.order ? item : w));
  }
  async remove(orders: readonly number[]) {
    this.items = this.items.filter((w) => !orders.includes(w.order));
  }
  async waiting() {
    return [...this.items];
  }
  async keep() {
    return undefined;
  }
  async kept() {
    return undefined;
  }
}
