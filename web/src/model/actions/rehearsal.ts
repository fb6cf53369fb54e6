import type { Passage } from '../../api/documents';
import { ServerError } from '../../api/client';
import { shortLabel } from '../device';
import type { History } from '../history';
import { LatestWins } from '../latest';
import { rowOfPassage } from '../lanes';
import { type Held, type Row, rowId } from '../state';
import { t } from '../words';
import { type Context, sentenceOf } from './context';
import { passageOf, pin } from './work';

interface Question {
  row: Row;
  tip_depth_mm: number;
}

/** What the user does with bars: choosing, adding, taking out, holding at a depth. One per page. */
export class Rehearsal {
  private readonly latest: LatestWins<Question, Passage>;

  constructor(
    private readonly context: Context,
    private readonly history: History,
  ) {
    this.latest = new LatestWins<Question, Passage>(
      ({ row, tip_depth_mm }) =>
        context.server.rehearse(this.caseId(), { canal: row.canal, device: row.device, tip_depth_mm }, new AbortController().signal),
      (passage, { row, tip_depth_mm }) => this.hold(row, { passage, tip_depth_mm, sentence: null }),
      (cause, { row, tip_depth_mm }) => this.hold(row, { tip_depth_mm, sentence: sentenceOf(cause) }),
    );
  }

  /** Makes a bar the one the panel, the sections and the tooth show; asks for its profile if it has none. */
  select(row: Row): void {
    const w = this.context.state.work;
    w.selected.value = row;
    if (!passageOf(this.context.state, row)?.profile) void this.fetchProfile(row);
  }

  /** Shows a passage of the plan: its bar is put into its lane if need be, chosen, and the cursor set to its depth. */
  showPlanPassage(index: number, depth_mm?: number): void {
    const { state } = this.context;
    if (state.work.plan.value.state !== 'ready') return;
    const row = rowOfPassage(state.work.plan.value.value, index);
    if (!row) return;
    this.put(row);
    this.select(row);
    const passage = passageOf(state, row);
    pin(this.context, { canal: row.canal, depth_mm: depth_mm ?? passage?.stopped_at_mm ?? passage?.reaches_mm ?? 0 });
  }

  add(canal: string, device: string): void {
    const row: Row = { id: rowId(canal, device, null), canal, device, planPassage: null };
    this.remembering(t('history.add', { device: this.nameOf(device), canal }), () => this.put(row));
    this.select(row);
  }

  remove(row: Row): void {
    this.remembering(t('history.remove', { device: this.nameOf(row.device), canal: row.canal }), () => this.takeOut(row));
  }

  private takeOut(row: Row): void {
    const w = this.context.state.work;
    this.free(row);
    w.rows.value = w.rows.value.filter((r) => r.id !== row.id);
    if (w.selected.value?.id === row.id) w.selected.value = null;
  }

  /** Moves the tip of a device. The server holds it in the canal as it is, whatever state the bar was found in. */
  drag(row: Row, tip_depth_mm: number): void {
    const w = this.context.state.work;
    if (w.selected.value?.id !== row.id) w.selected.value = row;
    const tip = Math.max(0, Math.round(tip_depth_mm * 10) / 10);
    const label = t('history.drag', { device: this.nameOf(row.device), canal: row.canal });
    // One drag is one change, however many places it went through.
    if (this.context.state.work.held.value.has(row.id) && this.history.last.value?.label === label) this.holdAt(row, tip);
    else this.remembering(label, () => this.holdAt(row, tip));
  }

  private holdAt(row: Row, tip_depth_mm: number): void {
    this.hold(row, { tip_depth_mm, busy: true });
    this.latest.put({ row, tip_depth_mm });
  }

  /** Back to its full reach. */
  letGo(row: Row): void {
    if (!this.context.state.work.held.value.has(row.id)) return;
    this.remembering(t('history.letGo', { device: this.nameOf(row.device), canal: row.canal }), () => this.free(row));
  }

  private free(row: Row): void {
    const w = this.context.state.work;
    if (!w.held.value.has(row.id)) return;
    this.latest.clear();
    const held = new Map(w.held.value);
    held.delete(row.id);
    w.held.value = held;
  }

  /** Makes a change of the bars that can be taken back. */
  private remembering(label: string, change: () => void): void {
    const before = this.bars();
    change();
    let after = this.bars();
    this.history.add({
      label,
      undo: () => {
        after = this.bars();
        this.putBack(before);
      },
      redo: () => this.putBack(after),
    });
  }

  private bars() {
    const { rows, held, selected, folded } = this.context.state.work;
    return { rows: rows.value, held: held.value, selected: selected.value, folded: folded.value };
  }

  private putBack({ rows, held, selected, folded }: ReturnType<Rehearsal['bars']>): void {
    const w = this.context.state.work;
    this.latest.clear();
    w.rows.value = rows;
    w.held.value = held;
    w.selected.value = selected;
    w.folded.value = folded;
    // What was being worked out when the picture was taken is asked for again.
    for (const [id, { busy, tip_depth_mm }] of held) {
      const row = busy ? rows.find((r) => r.id === id) : undefined;
      if (row) this.latest.put({ row, tip_depth_mm });
    }
  }

  private nameOf(id: string): string {
    const { tray } = this.context.state.work;
    const device = tray.value.state === 'ready' ? tray.value.value.devices.find((d) => d.id === id) : undefined;
    return device ? shortLabel(device) : id;
  }

  private caseId(): string {
    const { detail } = this.context.state.work;
    if (detail.value.state !== 'ready') throw new ServerError(0, 'no-case', t('error.noCase'));
    return detail.value.value.id;
  }

  private put(row: Row): void {
    const { rows, folded } = this.context.state.work;
    if (!rows.value.some((r) => r.id === row.id)) rows.value = [...rows.value, row];
    if (folded.value.has(row.canal)) folded.value = new Set([...folded.value].filter((c) => c !== row.canal));
  }

  /** Joins news of a held bar to what is known of it. An answer to a bar that was let go or moved on is dropped. */
  private hold(row: Row, news: Partial<Held> & { tip_depth_mm: number }): void {
    const { held } = this.context.state.work;
    const old = held.value.get(row.id);
    const isAnswer = news.busy === undefined;
    if (isAnswer && !old) return;
    const current = isAnswer && old ? old.tip_depth_mm : news.tip_depth_mm;
    const next: Held = {
      tip_depth_mm: current,
      passage: news.passage ?? old?.passage ?? null,
      busy: isAnswer ? current !== news.tip_depth_mm : true,
      sentence: isAnswer ? (news.sentence ?? null) : (old?.sentence ?? null),
    };
    held.value = new Map(held.value).set(row.id, next);
  }

  private async fetchProfile(row: Row): Promise<void> {
    if (row.planPassage !== null) return;
    const { state, server } = this.context;
    try {
      const passage = await server.rehearse(this.caseId(), { canal: row.canal, device: row.device }, new AbortController().signal);
      state.work.profiles.value = new Map(state.work.profiles.value).set(row.id, passage);
    } catch (cause) {
      state.work.sentence.value = sentenceOf(cause);
    }
  }
}
