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

  clear(): void {
    this.done.value = [];
    this.undone.value = [];
  }
}
