import { describe, expect, it } from 'vitest';
import { History } from '../src/model/history';

function counter() {
  const history = new History();
  let value = 0;
  const set = (to: number): void => {
    const from = value;
    value = to;
    history.add({ label: `to ${to}`, undo: () => (value = from), redo: () => (value = to) });
  };
  return { history, set, value: () => value };
}

describe('the history', () => {
  it('takes back and does again, in order', () => {
    const c = counter();
    [1, 2, 3].forEach(c.set);
    c.history.undo();
    c.history.undo();
    expect(c.value()).toBe(1);
    expect(c.history.last.value?.label).toBe('to 1');
    c.history.redo();
    expect(c.value()).toBe(2);
  });

  it('forgets what was taken back when something new is done', () => {
    const c = counter();
    [1, 2].forEach(c.set);
    c.history.undo();
    c.set(5);
    expect(c.history.next.value).toBeNull();
    c.history.redo();
    expect(c.value()).toBe(5);
    c.history.undo();
    expect(c.value()).toBe(1);
  });

  it('does nothing when there is nothing', () => {
    const c = counter();
    c.history.undo();
    c.history.redo();
    expect(c.value()).toBe(0);
  });

  it('remembers a hundred changes', () => {
    const c = counter();
    for (let i = 1; i <= 120; i++) c.set(i);
    for (let i = 0; i < 200; i++) c.history.undo();
    expect(c.value()).toBe(20);
  });
});
