import type { Entry, NewEntry } from './log';
import type { ChairSheet } from './steps';

/** An entry the program has not acknowledged yet. */
export interface Waiting {
  order: number;
  caseId: string;
  entry: NewEntry;
  /** The program refused it, and why. It is kept, shown, and not sent again. */
  refused?: string;
}

/** What is needed to go on with one case while the program is away. */
export interface Kept {
  caseId: string;
  sheet: ChairSheet;
  entries: readonly Entry[];
}

/** Where entries wait; the browser's is api/shelf.ts. */
export interface Shelving {
  add(item: Omit<Waiting, 'order'>): Promise<Waiting>;
  replace(item: Waiting): Promise<void>;
  remove(orders: readonly number[]): Promise<void>;
  waiting(): Promise<Waiting[]>;
}

/** How sending failed: the program is away, or it will not have this. */
export type Failure = { kind: 'away' } | { kind: 'refused'; sentence: string };

export interface Post {
  /** Resolves to the entries the program acknowledged. */
  send(caseId: string, entries: readonly NewEntry[]): Promise<readonly Entry[]>;
  failure(cause: unknown): Failure;
}

/** Entries sent at once at most. */
const BATCH = 50;

/**
 * The queue of log entries. An entry is on the shelf before it is shown and leaves it only when the program has
 * acknowledged it; so an entry may be sent twice, which its id makes harmless, but is never lost. Entries of a case are
 * sent in the order they were made.
 */
export class Outbox {
  private items: readonly Waiting[] = [];
  private sending: Promise<boolean> | null = null;

  /**
   * @param changed  told the queue after each change
   * @param acknowledged  told what the program took
   */
  constructor(
    private readonly shelf: Shelving,
    private readonly post: Post,
    private readonly changed: (items: readonly Waiting[]) => void,
    private readonly acknowledged: (caseId: string, entries: readonly Entry[]) => void,
  ) {}

  /** Reads what waits since the last time. */
  async load(): Promise<void> {
    this.set(await this.shelf.waiting());
  }

  async record(caseId: string, entry: NewEntry): Promise<void> {
    const added = await this.shelf.add({ caseId, entry });
    this.set([...this.items, added]);
  }

  /** Sends what waits. Resolves to false when the program is away. Called twice at once it sends once. */
  send(): Promise<boolean> {
    this.sending ??= this.sendAll().finally(() => (this.sending = null));
    return this.sending;
  }

  private async sendAll(): Promise<boolean> {
    let most = BATCH;
    for (;;) {
      const first = this.items.find((w) => w.refused === undefined);
      if (!first) return true;
      const batch = this.items.filter((w) => w.caseId === first.caseId && w.refused === undefined).slice(0, most);
      try {
        const taken = await this.post.send(first.caseId, batch.map((w) => w.entry));
        const ids = new Set(taken.map((e) => e.entry_id));
        const gone = batch.filter((w) => ids.has(w.entry.entry_id));
        if (gone.length === 0) return false;
        this.acknowledged(first.caseId, taken);
        await this.shelf.remove(gone.map((w) => w.order));
        this.set(this.items.filter((w) => !gone.includes(w)));
      } catch (cause) {
        const failure = this.post.failure(cause);
        if (failure.kind === 'away') return false;
        // One bad entry must not hold up the others: they go one by one until it is found.
        if (batch.length > 1) most = 1;
        else await this.refuse(first, failure.sentence);
      }
    }
  }

  private async refuse(item: Waiting, sentence: string): Promise<void> {
    const refused = { ...item, refused: sentence };
    await this.shelf.replace(refused);
    this.set(this.items.map((w) => (w.order === item.order ? refused : w)));
  }

  private set(items: readonly Waiting[]): void {
    this.items = items;
    this.changed(items);
  }
}
