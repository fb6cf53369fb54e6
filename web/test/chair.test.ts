import 'fake-indexeddb/auto';
import { describe, expect, it } from 'vitest';
import { Shelf } from '../src/api/shelf';
import type { CanalPlan, Plan } from '../src/api/documents';
import { type Entry, type EntryKind, type NewEntry, joined, timestamp } from '../src/model/chair/log';
import { type Failure, Outbox, type Waiting } from '../src/model/chair/outbox';
import { difference, runOf, stopOf } from '../src/model/chair/run';
import { type ChairSheet, chairCanals, stepsOf } from '../src/model/chair/steps';
import { bentCanal } from './samples';

const passage = (device: string, binds: [number, number][] = []) => ({ canal: 'MB', device, access: 'axial' as const, reaches_mm: 19, stopped_by: 'foramen' as const, stop_setting_mm: 19, binds, peak_strain: 0.01, push_force_N: 0.3 });
const canalPlan: CanalPlan = {
  canal: 'MB', depth_to_foramen_mm: 20, depth_sd_mm: 0.15, working_depth_mm: 19.5, working_depth_why: 'half a millimetre short',
  smallest: { device: 'a', passage: 0, reaches_mm: 19.5, reaches_working_depth: true, sentence: '' },
  order: [
    { device: 'a', kind: 'hand-file', action: 'scout', depth_mm: 19.5, stop_setting_mm: 19.5, why: 'first', passage: 0 },
    { device: 'b', kind: 'rotary-file', action: 'open', depth_mm: 14, stop_setting_mm: 14, why: 'wider above', passage: 1 },
    { device: 'b', kind: 'rotary-file', action: 'shape', depth_mm: 19.5, stop_setting_mm: 19.5, why: 'to depth', passage: 1 },
  ],
  recapitulation: { device: 'a', depth_mm: 19.5, stop_setting_mm: 19.5, passage: 0, why: 'again' },
  passive: [
    { job: 'rinse', device: 'c', kind: 'irrigation-cannula', reaches_mm: 18, stop_setting_mm: 17.5, stopped_by: 'width', chosen: true, why: 'thin', passage: 2 },
    { job: 'rinse', device: 'd', kind: 'irrigation-cannula', reaches_mm: 15, stop_setting_mm: 15, stopped_by: 'width', chosen: false, why: '', passage: 2 },
  ],
  notes: [],
};
const plan = {
  format: 'anfract.plan', version: 1, tooth: {}, tray: {}, canals: [canalPlan], cautions: ['verify'],
  passages: [passage('a'), passage('b', [[15, 17]]), passage('c')],
  warnings: [
    { text: 'sharp bend', reason: 'R 3', canal: 'MB', depth_mm: 16, severity: 3, passage: null },
    { text: 'small thing', reason: '', canal: 'MB', depth_mm: null, severity: 0, passage: null },
  ],
} as unknown as Plan;

const sheet: ChairSheet = { caseId: 'c', fdi: '37', invented: true, canals: chairCanals(plan, [bentCanal()]), steps: stepsOf(plan), devices: [], cautions: [] };
let count = 0;
const entry = (kind: EntryKind, more: Partial<NewEntry> = {}): NewEntry => ({ entry_id: `id-${++count}`, at: timestamp(new Date(2026, 0, 2, 9, 0, count)), kind, ...more });
const done = (key: string): NewEntry => entry('step-done', { step: key });

describe('the steps at the chair', () => {
  it('follow the plan, with a depth to measure when depth is first reached and a rinse after what removes dentine', () => {
    expect(sheet.steps.map((s) => s.key)).toEqual([
      'MB/scout/a', 'MB/measure/a', 'MB/open/b', 'MB/rinse-between/c', 'MB/shape/b', 'MB/rinse-between/c/2', 'MB/recheck/a', 'MB/rinse/c',
    ]);
  });

  it('measure with the largest file that scouts to the working depth', () => {
    const scout = canalPlan.order[0];
    if (!scout) throw new Error('no scout');
    const more = { ...plan, canals: [{ ...canalPlan, order: [scout, { ...scout, device: 'larger' }, ...canalPlan.order.slice(1)] }] } as Plan;
    expect(stepsOf(more).slice(0, 3).map((s) => s.key)).toEqual(['MB/scout/a', 'MB/scout/larger', 'MB/measure/larger']);
    const none = { ...plan, canals: [{ ...canalPlan, order: canalPlan.order.slice(1) }] } as Plan;
    expect(stepsOf(none).map((s) => s.key).indexOf('MB/measure/b')).toBe(3);
  });

  it('never let the cannula go deeper than the instrument before it', () => {
    expect(sheet.steps.filter((s) => s.doing === 'rinse-between').map((s) => s.stop_mm)).toEqual([14, 17.5]);
  });

  it('carry where the instrument binds and the grave warnings only', () => {
    expect(sheet.steps.find((s) => s.doing === 'open')?.binds).toEqual([[15, 17]]);
    expect(sheet.canals[0]?.mind).toEqual(['sharp bend']);
  });
});

describe('where the work stands', () => {
  it('is the first step that is not done, whatever the order of doing', () => {
    const run = runOf(sheet.steps, [done('MB/measure/a'), done('MB/scout/a'), done('MB/scout/a')]);
    expect(run.current?.key).toBe('MB/open/b');
    expect(run.done).toEqual(['MB/measure/a', 'MB/scout/a']);
    expect(runOf(sheet.steps, sheet.steps.map((s) => done(s.key))).current).toBeNull();
  });

  it('goes back by an entry that takes a step back', () => {
    const run = runOf(sheet.steps, [done('MB/scout/a'), entry('step-undone', { step: 'MB/scout/a' })]);
    expect(run.current?.key).toBe('MB/scout/a');
    expect(run.done).toEqual([]);
  });

  it('keeps what was done with a device the plan no longer has', () => {
    const run = runOf(sheet.steps, [done('MB/open/gone')]);
    expect(run.done).toEqual(['MB/open/gone']);
    expect(run.current?.key).toBe('MB/scout/a');
  });

  it('takes the newest depth of a canal, and corrections of it', () => {
    const first = entry('depth-measured', { canal: 'MB', depth_mm: 19.2 });
    const second = entry('depth-measured', { canal: 'MB', depth_mm: 19.4 });
    expect(runOf([], [first, second]).measured.get('MB')?.depth_mm).toBe(19.4);
    expect(runOf([], [first, second, entry('correction', { corrects: second.entry_id })]).measured.get('MB')?.depth_mm).toBe(19.2);
    expect(runOf([], [first, entry('correction', { corrects: first.entry_id, depth_mm: 19 })]).measured.get('MB')?.depth_mm).toBe(19);
    expect(runOf([], [first, second]).deviations.map((e) => e.depth_mm)).toEqual([19.4, 19.2]);
  });

  it('knows a running clock and what was rinsed', () => {
    const started = entry('rinse-started', { canal: 'MB', step: 'MB/rinse/c' });
    expect(runOf([], [started]).rinse).toEqual({ since: started.at, canal: 'MB', step: 'MB/rinse/c' });
    const stopped = runOf([], [started, entry('rinse-stopped', { canal: 'MB', seconds: 30 }), entry('rinse-stopped', { canal: 'MB', seconds: 12 })]);
    expect(stopped.rinse).toBeNull();
    expect(stopped.rinsed_s.get('MB')).toBe(42);
  });
});

describe('a measured depth', () => {
  const canal = sheet.canals[0];
  if (!canal) throw new Error('no canal');
  const shape = sheet.steps.find((s) => s.doing === 'shape');
  if (!shape) throw new Error('no step');
  const measured = (depth_mm: number) => runOf(sheet.steps, [entry('depth-measured', { canal: 'MB', depth_mm })]);

  it('is notable beyond the uncertainty of the scan and of the locator', () => {
    // The scan suggests 19.5; twice its sd of 0.1 is less than the 0.5 mm of the locator.
    expect(difference(canal, measured(19.0).measured.get('MB'))).toMatchObject({ notable: false });
    expect(difference(canal, measured(18.9).measured.get('MB'))).toMatchObject({ notable: true });
    expect(difference({ ...canal, foramen_sd_mm: 0.4 }, measured(18.9).measured.get('MB'))).toMatchObject({ notable: false });
    expect(difference(canal, undefined)).toBeNull();
  });

  it('holds back every stop that would go beyond it', () => {
    expect(stopOf(shape, measured(18.5))).toEqual({ stop_mm: 18.5, held_back: true });
    const open = sheet.steps.find((s) => s.doing === 'open');
    expect(open && stopOf(open, measured(18.5))).toEqual({ stop_mm: 14, held_back: false });
  });

  it('never makes a stop deeper by itself', () => expect(stopOf(shape, measured(21))).toEqual({ stop_mm: 19.5, held_back: false }));

  it('is still compared with the scan when the plan has followed it', () => {
    const followed = { ...plan, canals: [{ ...canalPlan, working_depth_mm: 18.5, measured: { from_scan_mm: 19.5, difference_mm: -1, changes: ['stops earlier'] } }] } as Plan;
    const [after] = chairCanals(followed, [bentCanal()]);
    expect(after && difference(after, measured(18.5).measured.get('MB'))).toMatchObject({ by_mm: -1, notable: true });
    expect(after?.changes).toEqual(['stops earlier']);
  });
});

describe('the log', () => {
  it('writes local time with milliseconds and offset', () => {
    const text = timestamp(new Date(2026, 10, 25, 7, 8, 9, 5));
    expect(text).toMatch(/^2026-11-25T07:08:09\.005[+-]\d\d:\d\d$/);
    expect(Date.parse(text)).toBe(new Date(2026, 10, 25, 7, 8, 9, 5).getTime());
  });

  it('counts an entry once that was sent but whose answer was lost', () => {
    const a: Entry = { ...entry('note'), sequence: 1, received: '' };
    const b = entry('note');
    expect(joined([a], [a, b]).map((e) => e.entry_id)).toEqual([a.entry_id, b.entry_id]);
  });
});

/** A program that can be away, lose its answers, or refuse one entry; it stores by id as the contract says. */
function program() {
  const stored = new Map<string, Entry>();
  const desk = { away: false, loseAnswer: false, refuses: '', calls: 0, stored };
  const send = async (_case: string, entries: readonly NewEntry[]): Promise<Entry[]> => {
    desk.calls++;
    if (desk.away) throw new Error('away');
    if (entries.some((e) => e.entry_id === desk.refuses)) throw new RangeError('not that one');
    for (const e of entries) if (!stored.has(e.entry_id)) stored.set(e.entry_id, { ...e, sequence: stored.size + 1, received: '' });
    if (desk.loseAnswer) throw new Error('away');
    return entries.map((e) => stored.get(e.entry_id) as Entry);
  };
  const failure = (cause: unknown): Failure => (cause instanceof RangeError ? { kind: 'refused', sentence: cause.message } : { kind: 'away' });
  return { desk, post: { send, failure } };
}

let shelves = 0;
async function outbox(post: ReturnType<typeof program>['post'], name = `shelf-${++shelves}`) {
  let items: readonly Waiting[] = [];
  const shelf = await Shelf.open(name);
  const box = new Outbox(shelf, post, (now) => (items = now), () => undefined);
  await box.load();
  return { box, shelf, name, items: () => items };
}

describe('the queue', () => {
  it('keeps entries over a reload while the program is away, and sends them in order', async () => {
    const { desk, post } = program();
    desk.away = true;
    const before = await outbox(post);
    // At once, as quick fingers do.
    await Promise.all((['step-done', 'depth-measured', 'note'] as const).map((kind) => before.box.record('c', entry(kind))));
    expect(before.items()).toHaveLength(3);
    expect(await before.box.send()).toBe(false);
    before.shelf.close();
    const after = await outbox(post, before.name);
    expect(after.items().map((w) => w.entry.kind)).toEqual(['step-done', 'depth-measured', 'note']);
    desk.away = false;
    expect(await after.box.send()).toBe(true);
    expect([...desk.stored.values()].map((e) => e.kind)).toEqual(['step-done', 'depth-measured', 'note']);
    expect(after.items()).toEqual([]);
    expect(await after.shelf.waiting()).toEqual([]);
  });

  it('sends again what was stored but not acknowledged, and it is stored once', async () => {
    const { desk, post } = program();
    const { box, items } = await outbox(post);
    await box.record('c', entry('note'));
    desk.loseAnswer = true;
    expect(await box.send()).toBe(false);
    expect(items()).toHaveLength(1);
    desk.loseAnswer = false;
    expect(await box.send()).toBe(true);
    expect(desk.stored.size).toBe(1);
  });

  it('sets a refused entry aside and sends the others', async () => {
    const { desk, post } = program();
    const { box, items } = await outbox(post);
    const bad = entry('note');
    desk.refuses = bad.entry_id;
    for (const e of [entry('step-done'), bad, entry('blocked')]) await box.record('c', e);
    expect(await box.send()).toBe(true);
    expect([...desk.stored.values()].map((e) => e.kind)).toEqual(['step-done', 'blocked']);
    expect(items()).toMatchObject([{ entry: { entry_id: bad.entry_id }, refused: 'not that one' }]);
  });

  it('sends once when told twice at once', async () => {
    const { desk, post } = program();
    const { box } = await outbox(post);
    await box.record('c', entry('note'));
    await Promise.all([box.send(), box.send()]);
    expect(desk.calls).toBe(1);
  });
});

describe('the shelf', () => {
  it('keeps the sheet of one case only', async () => {
    const shelf = await Shelf.open('kept');
    await shelf.keep({ caseId: 'a', sheet: { ...sheet, caseId: 'a' }, entries: [] });
    await shelf.keep({ caseId: 'b', sheet: { ...sheet, caseId: 'b' }, entries: [] });
    expect(await shelf.kept('a')).toBeUndefined();
    expect((await shelf.kept('b'))?.sheet.steps).toHaveLength(8);
    shelf.close();
  });
});
