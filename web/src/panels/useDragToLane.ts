import { type Signal, useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';

/** Where a dragged device is, and the canal whose lane it is over. */
export interface Dragged {
  device: string;
  x: number;
  y: number;
  canal: string | null;
}

/** A press that moves less than this is a press. */
const MOVES_PX = 6;

/**
 * Drags a device onto a lane of the ruler, by mouse, pen or finger (the browser's own drag and drop knows no fingers). A
 * finger that moves mostly up or down scrolls the list instead.
 */
export function useDragToLane(drop: (canal: string, device: string) => void): { begin: (event: PointerEvent, device: string) => void; over: Signal<Dragged | null> } {
  const over = useSignal<Dragged | null>(null);
  const end = useRef<() => void>(() => undefined);
  useEffect(() => () => end.current(), []);
  const begin = (event: PointerEvent, device: string): void => {
    if (event.button !== 0) return;
    const from = { x: event.clientX, y: event.clientY };
    const move = (e: PointerEvent): void => {
      if (!over.value && Math.hypot(e.clientX - from.x, e.clientY - from.y) < MOVES_PX) return;
      const lane = document.elementFromPoint(e.clientX, e.clientY)?.closest<HTMLElement>('[data-canal]');
      document.querySelector('[data-drop]')?.removeAttribute('data-drop');
      lane?.setAttribute('data-drop', '');
      over.value = { device, x: e.clientX, y: e.clientY, canal: lane?.dataset.canal ?? null };
    };
    const finish = (e?: PointerEvent): void => {
      const canal = e?.type === 'pointerup' ? over.value?.canal : null;
      // The press that ends a drag is not a press on the row it began at.
      if (over.value) addEventListener('click', swallow, { capture: true, once: true });
      setTimeout(() => removeEventListener('click', swallow, { capture: true }), 0);
      over.value = null;
      document.querySelector('[data-drop]')?.removeAttribute('data-drop');
      for (const [type, listen] of listeners) removeEventListener(type, listen);
      end.current = () => undefined;
      if (canal) drop(canal, device);
    };
    const keys = (e: KeyboardEvent): void => {
      if (e.key === 'Escape') finish();
    };
    const listeners = [
      ['selectstart', (e: Event) => e.preventDefault()],
      ['pointermove', move],
      ['pointerup', finish],
      ['pointercancel', finish],
      ['keydown', keys],
    ] as unknown as readonly [string, EventListener][];
    for (const [type, listen] of listeners) addEventListener(type, listen);
    end.current = finish;
  };
  return { begin, over };
}

function swallow(event: Event): void {
  event.stopPropagation();
  event.preventDefault();
}
