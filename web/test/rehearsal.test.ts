import { describe, expect, it } from 'vitest';
import type { Passage, RehearseRequest } from '../src/api/documents';
import type { Context } from '../src/model/actions/context';
import { History } from '../src/model/history';
import { Rehearsal } from '../src/model/actions/rehearsal';
import { passageOf } from '../src/model/actions/work';
import { createState, passageKey, rowId, type Row } from '../src/model/state';
import { bentCanal } from './samples';

const passage = (tip: number, peak_strain: number): Passage => ({
  canal: 'MB', device: 'a', access: 'axial', reaches_mm: tip, stopped_by: 'foramen', stop_setting_mm: tip, binds: [], peak_strain, push_force_N: 0.1,
  profile: { depth_mm: [8, tip], offset_mm: [[0, 0, 0], [0, 0, 0]], strain: [0, peak_strain], contact_N_per_mm: [0, 0], contact_toward: [[0, 0, 0], [0, 0, 0]] },
});

/** A page with one case open, and a server whose answers are let out by hand. */
function desk() {
  const state = createState();
  state.work.detail.value = {
    state: 'ready',
    value: { id: 'c', scan: 's', created: '', tooth_version: 1, tooth: { format: 'anfract.tooth', version: 1, frame: 'LPS-mm', tooth: { fdi: '37' }, reference_mm: [0, 0, 8], canals: [bentCanal()] } },
  };
  const bare = passage(18, 0.01);
  delete bare.profile;
  state.work.passages.value = { state: 'ready', value: new Map([[passageKey('MB', 'a'), bare]]) };
  const history = new History();
  const asked: RehearseRequest[] = [];
  const waiting: ((p: Passage) => void)[] = [];
  const server = {
    rehearse: (_case: string, request: RehearseRequest) => {
      asked.push(request);
      return new Promise<Passage>((resolve) => waiting.push(resolve));
    },
  };
  const rehearsal = new Rehearsal({ state, server } as unknown as Context, history);
  const answer = async (p: Passage): Promise<void> => {
    waiting.shift()?.(p);
    await new Promise((r) => setTimeout(r, 0));
  };
  const row: Row = { id: rowId('MB', 'a', null), canal: 'MB', device: 'a', planPassage: null };
  return { state, rehearsal, history, asked, answer, row };
}

describe('a bar', () => {
  it('is put into its lane, chosen and asked for its profile', async () => {
    const d = desk();
    d.rehearsal.add('MB', 'a');
    expect(d.state.work.rows.value.map((r) => r.id)).toEqual([d.row.id]);
    expect(d.asked).toEqual([{ canal: 'MB', device: 'a' }]);
    await d.answer(passage(18, 0.012));
    expect(passageOf(d.state, d.row)?.profile?.strain).toEqual([0, 0.012]);
  });

  it('follows the drag at once and takes the newest answer', async () => {
    const d = desk();
    [17, 16.04, 15].forEach((tip) => d.rehearsal.drag(d.row, tip));
    expect(d.state.work.held.value.get(d.row.id)).toMatchObject({ tip_depth_mm: 15, busy: true });
    await d.answer(passage(17, 0.009));
    // The first answer is drawn while the newest question is on its way, but the tip stays where the hand is.
    expect(d.state.work.held.value.get(d.row.id)).toMatchObject({ tip_depth_mm: 15, busy: true });
    expect(passageOf(d.state, d.row)?.peak_strain).toBe(0.009);
    await d.answer(passage(15, 0.004));
    expect(d.state.work.held.value.get(d.row.id)).toMatchObject({ tip_depth_mm: 15, busy: false });
    expect(passageOf(d.state, d.row)?.peak_strain).toBe(0.004);
    expect(d.asked.map((q) => q.tip_depth_mm)).toEqual([17, 15]);
  });

  it('goes back to its reach when let go, also before the answer comes', async () => {
    const d = desk();
    d.rehearsal.drag(d.row, 16);
    d.rehearsal.letGo(d.row);
    await d.answer(passage(16, 0.5));
    expect(d.state.work.held.value.size).toBe(0);
    expect(passageOf(d.state, d.row)?.peak_strain).toBe(0.01);
  });

  it('of the plan is moved without touching the bar of the same device in the canal as it is', async () => {
    const d = desk();
    const ofPlan: Row = { ...d.row, id: rowId('MB', 'a', 3), planPassage: 3 };
    d.rehearsal.drag(ofPlan, 15);
    await d.answer(passage(15, 0.007));
    expect(passageOf(d.state, ofPlan)?.peak_strain).toBe(0.007);
    expect(passageOf(d.state, d.row)?.peak_strain).toBe(0.01);
  });

  it('leaves its lane and is no longer chosen', async () => {
    const d = desk();
    d.rehearsal.add('MB', 'a');
    await d.answer(passage(18, 0.01));
    d.rehearsal.remove(d.row);
    expect(d.state.work.rows.value).toEqual([]);
    expect(d.state.work.selected.value).toBeNull();
  });
});
