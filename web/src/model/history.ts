import { computed, signal } from '@preact/signals';

/** Something that was done and can be taken back and done again. */
export interface Change {
  /** What was done, for the button that takes it back. */
  label: string;
  undo: () => void;
  redo: () => void;
}

/** Changes remembered at most. */
const MOST = 100;

/** What was done on a page, newest last. Doing something new forgets what was taken back. */
export class History {
  private readonly done = signal<readonly Change[]>([]);
  private readonly undone = signal<readonly Change[]>([]);
  /** The change the next `undo` takes back, the next `redo` does again; null for none. */
  readonly last = computed(() => this.done.value.at(-1) ?? null);
  readonly next = computed(() => this.undone.value.at(-1) ?? null);

  /** Remembers a change that was made. */
  add(change: Change): void {
    this.done.value = [...this.done.value, change].slice(-MOST);
    this.undone.value = [];
  }

  /** Puts a change in the place of the last one, which it goes on with. */
  replaceLast(change: Change): void {
    this.done.value = [...this.done.value.slice(0, -1), change];
    this.undone.value = [];
  }

  /** Forgets the last change, which could not be made. */
  dropLast(): void {
    this.done.value = this.done.value.slice(0, -1);
  }

  undo(): void {
    const change = this.last.value;
    if (!change) return;
    this.done.value = this.done.value.slice(0, -1);
    this.undone.value = [...this.undone.value, change];
    change.undo();
  }

  redo(): void {
    const change = this.next.value;
    if (!change) return;
    this.undone.value = this.undone.value.slice(0, -1);
    this.done.value = [...this.done.value, change];
    change.redo();
  }

  /** What was done in an earlier sitting, oldest first, and what was taken back then, the next to be done again last. */
  restore(done: readonly Change[], undone: readonly Change[]): void {
    this.done.value = done;
    this.undone.value = undone;
  }

  clear(): void {
    this.done.value = [];
    this.undone.value = [];
  }
}
