import { type DBSchema, type IDBPDatabase, openDB } from 'idb';
import type { Kept, Waiting } from '../model/chair/outbox';

/** What the browser keeps of a treatment: entries on their way to the program, and the sheet to go on without it. */
interface Schema extends DBSchema {
  waiting: { key: number; value: Waiting };
  kept: { key: string; value: Kept };
}

/** A shelf in IndexedDB. It survives a reload, a crash of the browser and the program being away. */
export class Shelf {
  private constructor(private readonly db: IDBPDatabase<Schema>) {}

  static async open(name = 'anfract-chair'): Promise<Shelf> {
    const db = await openDB<Schema>(name, 1, {
      upgrade(made) {
        made.createObjectStore('waiting', { keyPath: 'order', autoIncrement: true });
        made.createObjectStore('kept', { keyPath: 'caseId' });
      },
    });
    return new Shelf(db);
  }

  /** Puts an entry at the end of the queue; it is on disk when this resolves. */
  async add(item: Omit<Waiting, 'order'>): Promise<Waiting> {
    const done = this.db.transaction('waiting', 'readwrite', { durability: 'strict' });
    const order = await done.store.add(item as Waiting);
    await done.done;
    return { ...item, order };
  }

  async replace(item: Waiting): Promise<void> {
    await this.db.put('waiting', item);
  }

  async remove(orders: readonly number[]): Promise<void> {
    const done = this.db.transaction('waiting', 'readwrite');
    await Promise.all([...orders.map((order) => done.store.delete(order)), done.done]);
  }

  /** All entries of all cases, oldest first. */
  async waiting(): Promise<Waiting[]> {
    return this.db.getAll('waiting');
  }

  /** Keeps what one case needs and forgets the others: a browser should not collect patients. */
  async keep(kept: Kept): Promise<void> {
    const done = this.db.transaction('kept', 'readwrite');
    await done.store.clear();
    await done.store.put(kept);
    await done.done;
  }

  async kept(caseId: string): Promise<Kept | undefined> {
    return this.db.get('kept', caseId);
  }

  close(): void {
    this.db.close();
  }
}
