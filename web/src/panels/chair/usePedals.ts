import { useLayoutEffect, useRef } from 'preact/hooks';
import { PEDALS, type Pedal } from '../../model/settings';
import { store } from '../../model/store';

/** A foot presses longer and less surely than a finger: a second press of one pedal within this is the first one's bounce. */
const BOUNCE_MS = 300;

/**
 * Listens for the pedals' keys. A key that would press a button reached with Tab keeps that meaning: whoever works by
 * keyboard is not surprised. Nothing is heard while `on` is false or a field is being filled in.
 */
export function usePedals(act: Readonly<Record<Pedal, () => void>>, on: boolean): void {
  const newest = useRef(act);
  newest.current = act;
  // With the drawing and not a frame later: what is seen to be open to a press must hear it.
  useLayoutEffect(() => {
    if (!on) return undefined;
    let tabbed = false;
    const last_ms: Partial<Record<Pedal, number>> = {};
    const pointer = (): void => {
      tabbed = false;
    };
    const key = (event: KeyboardEvent): void => {
      if (event.key === 'Tab') tabbed = true;
      const pedal = PEDALS.find((p) => store.state.settings.value.keys[p].toLowerCase() === event.key.toLowerCase());
      if (!pedal || event.ctrlKey || event.metaKey || event.altKey) return;
      const target = event.target as Element;
      const presses = (event.key === ' ' || event.key === 'Enter') && target.matches('button, a, summary, input, select');
      if (target.matches('input, textarea, select') || (presses && tabbed)) return;
      event.preventDefault();
      event.stopPropagation();
      if (event.repeat || event.timeStamp - (last_ms[pedal] ?? -Infinity) < BOUNCE_MS) return;
      last_ms[pedal] = event.timeStamp;
      newest.current[pedal]();
    };
    // A space that was taken must not press the button it was let go over.
    const up = (event: KeyboardEvent): void => {
      if (event.key === ' ' && !tabbed && (event.target as Element).matches('button')) event.preventDefault();
    };
    addEventListener('keydown', key, true);
    addEventListener('keyup', up, true);
    addEventListener('pointerdown', pointer, true);
    return () => {
      removeEventListener('keydown', key, true);
      removeEventListener('keyup', up, true);
      removeEventListener('pointerdown', pointer, true);
    };
  }, [on]);
}
