import { describe, expect, it } from 'vitest';
import { LatestWins } from '../src/model/latest';

/** Questions whose answers are released by hand, in the order they were asked. */
function harness() {
  const asked: number[] = [];
  const answered: number[] = [];
  const failed: number[] = [];
  const release: ((ok: boolean) => void)[] = [];
  const latest = new LatestWins<number, number>(
    (q) =>
      new Promise((resolve, reject) => {
        asked.push(q);
        release.push((ok) => (ok ? resolve(q * 10) : reject(new Error('no'))));
      }),
    (answer) => answered.push(answer),
    (_cause, q) => failed.push(q),
  );
  const settle = async (ok = true): Promise<void> => {
    release.shift()?.(ok);
    await new Promise((r) => setTimeout(r, 0));
  };
  return { latest, asked, answered, failed, settle };
}

describe('a stream of questions', () => {
  it('has one in flight and keeps only the newest', async () => {
    const h = harness();
    [1, 2, 3, 4].forEach((q) => h.latest.put(q));
    expect(h.asked).toEqual([1]);
    await h.settle();
    expect(h.asked).toEqual([1, 4]);
    await h.settle();
    expect(h.answered).toEqual([10, 40]);
  });

  it('goes on after a failure', async () => {
    const h = harness();
    h.latest.put(1);
    h.latest.put(2);
    await h.settle(false);
    await h.settle();
    expect(h.failed).toEqual([1]);
    expect(h.answered).toEqual([20]);
  });

  it('forgets what waits when cleared', async () => {
    const h = harness();
    h.latest.put(1);
    h.latest.put(2);
    h.latest.clear();
    await h.settle();
    expect(h.asked).toEqual([1]);
  });
});
