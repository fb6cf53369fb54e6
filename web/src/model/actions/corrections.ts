import { ServerError } from '../../api/client';
import type { Edit, EditList, EditedParts } from '../../api/documents';
import { withEdit } from '../corrections';
import type { Change, History } from '../history';
import { LatestWins } from '../latest';
import { t } from '../words';
import { type Context, sentenceOf } from './context';
import { slowly } from './slow';
import { pin, refreshFigures } from './work';

interface Question {
  list: EditList;
  keep: boolean;
}

/** Key presses that follow one another this closely are one edit. */
const JOIN_MS = 1200;
/** The plan is worked out anew when nothing was corrected for this long. */
const SETTLED_MS = 1500;

const isConflict = (cause: unknown): boolean => cause instanceof ServerError && cause.code === 'conflict';

/** Correcting the traced tooth: every edit goes to the program, which fits what it touches and answers with the tooth. */
export class Corrections {
  private readonly latest: LatestWins<Question, EditedParts>;
  private lastKey_ms = 0;
  private settling: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly context: Context,
    private readonly history: History,
  ) {
    this.latest = new LatestWins<Question, EditedParts>(
      ({ list, keep }) => context.server.sendEdits(this.caseId(), list, keep, this.version()),
      (parts, { keep }) => this.take(parts, keep),
      (cause, question) => (isConflict(cause) ? void this.takeTheirs() : this.refused(sentenceOf(cause), question)),
    );
  }

  /** What was corrected in earlier sittings; it can be taken back like what is done now. */
  async load(): Promise<void> {
    const c = this.context.state.work.corrections;
    const { edits, undone, possible } = await this.context.server.getEdits(this.caseId());
    c.possible.value = possible;
    c.list.value = { edits, undone };
    const all = [...edits, ...[...undone].reverse()];
    const changes = all.map((edit, i) => this.change(edit, all.slice(0, i), all.slice(0, i + 1)));
    this.history.restore(changes.slice(0, edits.length), changes.slice(edits.length).reverse());
  }

  /** Has the program prepare the tooth, which takes as long as tracing it did, and shows the handles. */
  async begin(): Promise<void> {
    const { corrections: c, pictures } = this.context.state.work;
    const id = this.caseId();
    c.sentence.value = null;
    try {
      // A job would wait in line behind plans; what is open already needs none.
      const { open } = await this.context.server.getEdits(id);
      if (!open) await slowly(this.context.server, c.preparing, () => this.context.server.openEdits(id), async () => undefined, () => this.isOpen(id));
      c.on.value = true;
      pictures.large.value = true;
    } catch (cause) {
      c.sentence.value = sentenceOf(cause);
    }
  }

  end(): void {
    const { corrections, pictures } = this.context.state.work;
    corrections.on.value = false;
    pictures.tool.value = 'cursor';
    pictures.begun.value = null;
  }

  /** Shows what an edit would do, while it is being dragged. */
  preview(edit: Edit): void {
    const { edits } = this.context.state.work.corrections.list.value;
    this.ask({ list: { edits: [...edits, edit], undone: [] }, keep: false });
  }

  /** Ends a drag: its last edit is made, or the tooth is as before. */
  finish(edit: Edit | null): void {
    if (edit) this.make(edit);
    else this.ask({ list: this.context.state.work.corrections.list.value, keep: true });
  }

  /** Makes an edit. By key, presses that follow one another closely become one. */
  make(edit: Edit, byKey = false): void {
    const c = this.context.state.work.corrections;
    const before = c.list.value.edits;
    const now = Date.now();
    const after = withEdit(before, edit, byKey && now - this.lastKey_ms < JOIN_MS);
    this.lastKey_ms = byKey ? now : 0;
    const last = after.at(-1) ?? edit;
    if (after.length === before.length) this.history.replaceLast(this.change(last, before.slice(0, -1), after));
    else this.history.add(this.change(last, before, after));
    this.send(after, []);
  }

  private change(edit: Edit, before: readonly Edit[], after: readonly Edit[]): Change {
    const all = (): readonly Edit[] => {
      const { edits, undone } = this.context.state.work.corrections.list.value;
      return [...edits, ...[...undone].reverse()];
    };
    // What was taken back is kept with the case, so that it can be done again in another sitting.
    const undone = (from: number): Edit[] => all().slice(from).reverse();
    return {
      label: t(`edit.${edit.kind}`, { canal: 'canal' in edit ? edit.canal : '' }),
      undo: () => this.send([...before], undone(before.length)),
      redo: () => this.send([...after], undone(after.length)),
    };
  }

  private send(edits: Edit[], undone: Edit[]): void {
    const c = this.context.state.work.corrections;
    c.list.value = { edits, undone };
    this.ask({ list: c.list.value, keep: true });
  }

  private ask(question: Question): void {
    const c = this.context.state.work.corrections;
    c.busy.value = true;
    c.sentence.value = null;
    this.latest.put(question);
  }

  private take({ canals, reference_mm, findings, tooth_version }: EditedParts, keep: boolean): void {
    const { detail, corrections, pinned } = this.context.state.work;
    corrections.busy.value = false;
    if (detail.value.state !== 'ready') return;
    const { value } = detail.value;
    detail.value = { state: 'ready', value: { ...value, tooth_version, tooth: { ...value.tooth, canals, reference_mm, findings } } };
    const cursor = pinned.value;
    const [first] = canals;
    if (cursor && first && !canals.some((c) => c.name === cursor.canal)) pin(this.context, { ...cursor, canal: first.name });
    if (!keep) return;
    clearTimeout(this.settling);
    const id = value.id;
    this.settling = setTimeout(() => this.isOpen(id) && void refreshFigures(this.context, id), SETTLED_MS);
  }

  /** Someone corrected the tooth elsewhere: it is shown as they left it, and what was not kept is said. */
  private async takeTheirs(): Promise<void> {
    const { detail, corrections } = this.context.state.work;
    const id = this.caseId();
    corrections.busy.value = false;
    this.latest.clear();
    try {
      const theirs = await this.context.server.getCase(id);
      if (!this.isOpen(id)) return;
      detail.value = { state: 'ready', value: theirs };
      await this.load();
      corrections.sentence.value = t('correct.elsewhere');
      await refreshFigures(this.context, id);
    } catch (cause) {
      corrections.sentence.value = sentenceOf(cause);
    }
  }

  /** An edit the program refused is taken out again: the tooth is as before. */
  private refused(sentence: string, refused: Question): void {
    const c = this.context.state.work.corrections;
    c.busy.value = false;
    c.sentence.value = sentence;
    // The tooth as before cannot be had either, as when its scan is gone: asking again would not help.
    if (!refused.keep && refused.list === c.list.value) return;
    void this.context.server.getEdits(this.caseId()).then(
      ({ edits, undone }) => {
        if (edits.length !== c.list.value.edits.length) this.history.dropLast();
        c.list.value = { edits, undone };
        this.latest.put({ list: c.list.value, keep: false });
      },
      (cause: unknown) => (c.sentence.value = sentenceOf(cause)),
    );
  }

  private isOpen(id: string): boolean {
    const { detail } = this.context.state.work;
    return detail.value.state === 'ready' && detail.value.value.id === id;
  }

  private version(): number {
    const { detail } = this.context.state.work;
    return detail.value.state === 'ready' ? detail.value.value.tooth_version : 0;
  }

  private caseId(): string {
    const { detail } = this.context.state.work;
    return detail.value.state === 'ready' ? detail.value.value.id : '';
  }
}
