import { useRef } from 'preact/hooks';

interface Props {
  x: number;
  y: number;
  title: string;
  class: string;
  /** Where the handle was drawn to, in px from where it was taken. */
  begin: () => void;
  drag: (dx: number, dy: number) => void;
  /** Let go; false when the press was taken away, as by a system gesture. */
  end: (kept: boolean) => void;
}

/** A place in a picture that can be drawn elsewhere; large enough for a finger. */
export function Handle({ x, y, title, begin, drag, end, ...rest }: Props) {
  const from = useRef<{ x: number; y: number } | null>(null);
  const finish = (kept: boolean): void => {
    if (from.current) end(kept);
    from.current = null;
  };
  return (
    <g class={`handle ${rest.class}`} transform={`translate(${x.toFixed(1)} ${y.toFixed(1)})`}>
      <title>{title}</title>
      <circle class="knob" r={5} />
      <circle
        class="press"
        r={13}
        onPointerDown={(event) => {
          event.stopPropagation();
          if (event.button !== 0) return;
          event.currentTarget.setPointerCapture(event.pointerId);
          from.current = { x: event.clientX, y: event.clientY };
          begin();
        }}
        onPointerMove={(event) => {
          event.stopPropagation();
          if (from.current) drag(event.clientX - from.current.x, event.clientY - from.current.y);
        }}
        onPointerUp={(event) => {
          event.stopPropagation();
          finish(true);
        }}
        onPointerCancel={() => finish(false)}
      />
    </g>
  );
}
