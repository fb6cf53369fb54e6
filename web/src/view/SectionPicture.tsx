import type { ComponentChildren } from 'preact';
import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import { type Brick, type SectionPlane, pixelToPatient } from '../model/brick';
import { type GreyWindow, dragWindow } from '../model/grey';
import * as format from '../model/format';
import { edgeLetters } from '../model/planes';
import { type Layer, type Surface, THIN, planeSurface } from '../model/surface';
import type { Vec3 } from '../model/vec';
import { t } from '../model/words';
import { paintNoMore, paintSoon } from './grey/paint-queue';
import { useSize } from './useSize';

export interface SectionHandlers {
  /** A press or drag with the main button. */
  onPoint?: (point_P: Vec3) => void;
  /** Wheel or Page Up and Down: whole steps through the section. */
  onStep?: (steps: number) => void;
  /** Arrow keys: pixels to the right and down. */
  onNudge?: (right: number, down: number) => void;
  onEnter?: () => void;
  /** A key that may change what is shown; true when it did. */
  onKey?: (key: string, far: boolean) => boolean;
  onGrey?: (window: GreyWindow) => void;
}

/** Where a picture's pixels lie in the patient. */
export interface PictureMap {
  surface: Surface;
  mm_per_px: number;
  toPatient: (x_px: number, y_px: number) => Vec3;
}

interface PictureProps extends SectionHandlers {
  title: string;
  label: string;
  bricks: readonly Brick[];
  layer?: Layer;
  grey: GreyWindow;
  greyRange: number;
  class?: string;
  mapFor: (width_px: number, height_px: number) => PictureMap;
  names: (map: PictureMap) => ReturnType<typeof edgeLetters>;
  /** Drawn over the picture in CSS pixels. */
  overlay?: (map: PictureMap, width_px: number, height_px: number) => ComponentChildren;
}

/** A picture of grey values on a canvas with its drawing on top; pointer, wheel and keys are told to the owner. */
export function GreyPicture(props: PictureProps) {
  const { ref, width, height } = useSize<HTMLDivElement>();
  const canvas = useRef<HTMLCanvasElement>(null);
  const map = width > 0 && height > 0 ? props.mapFor(width, height) : null;
  const letters = map && props.names(map);
  useDrawing(canvas, props, map, width, height);
  const input = useInput(ref, props, map);

  return (
    <figure class={`section ${props.class ?? ''}`}>
      <figcaption>{props.title}</figcaption>
      <div class="picture" ref={ref} tabIndex={0} role="img" aria-label={props.label} {...input}>
        <canvas ref={canvas} aria-hidden="true" />
        {props.bricks.length === 0 && <p class="empty">{t('section.empty')} …</p>}
        {map && (
          <svg width={width} height={height} aria-hidden="true">
            {props.overlay?.(map, width, height)}
            {props.bricks.length > 0 && <ScaleBar mm_per_px={map.mm_per_px} width={width} height={height} />}
            {letters && props.bricks.length > 0 && (
              <g class="letters">
                <text x={6} y={height / 2}>{letters.left}</text>
                <text x={width - 6} y={height / 2} text-anchor="end">{letters.right}</text>
                <text x={width / 2} y={14} text-anchor="middle">{letters.top}</text>
                <text x={width / 2} y={height - 6} text-anchor="middle">{letters.bottom}</text>
              </g>
            )}
          </svg>
        )}
      </div>
    </figure>
  );
}

interface SectionProps extends Omit<PictureProps, 'mapFor' | 'names' | 'overlay'> {
  planeFor: (width_px: number, height_px: number) => SectionPlane;
  /** Names at the edges; the patient's letters when left out. */
  names?: (plane: SectionPlane) => ReturnType<typeof edgeLetters>;
  overlay?: (plane: SectionPlane, width_px: number, height_px: number) => ComponentChildren;
}

/** A flat section. */
export function SectionPicture({ planeFor, names, overlay, ...rest }: SectionProps) {
  const mapFor = (width: number, height: number): PictureMap & { plane: SectionPlane } => {
    const plane = planeFor(width, height);
    return {
      plane,
      surface: planeSurface(plane, width, height),
      mm_per_px: plane.mm_per_px,
      toPatient: (x, y) => pixelToPatient(plane, width, height, x, y),
    };
  };
  // The maps this component gets back are those it made.
  const planeOf = (map: PictureMap): SectionPlane => (map as ReturnType<typeof mapFor>).plane;
  return (
    <GreyPicture
      {...rest}
      mapFor={mapFor}
      names={(map) => names?.(planeOf(map)) ?? edgeLetters(planeOf(map).right, planeOf(map).down)}
      overlay={(map, width, height) => overlay?.(planeOf(map), width, height)}
    />
  );
}

/** A length of the picture, as long as fits between a sixth and a third of its width. */
function ScaleBar({ mm_per_px, width, height }: { mm_per_px: number; width: number; height: number }) {
  const mm = [20, 10, 5, 2, 1, 0.5].find((n) => n / mm_per_px <= width / 3) ?? 0.5;
  const long = mm / mm_per_px;
  return (
    <g class="scale-bar">
      <path d={`M${width - 8 - long} ${height - 8} h${long} m0 -3 v6 m${-long} -6 v6`} />
      <text x={width - 8 - long / 2} y={height - 13} text-anchor="middle">
        {format.withUnit(format.plain(mm), 'mm')}
      </text>
    </g>
  );
}

function useDrawing(canvas: { current: HTMLCanvasElement | null }, props: PictureProps, map: PictureMap | null, width: number, height: number): void {
  // Before the frame is painted, so that grey values and drawing over them show the same depth.
  useLayoutEffect(() => {
    if (!map || !canvas.current) return;
    paintSoon(canvas.current, { bricks: props.bricks, surface: map.surface, layer: props.layer ?? THIN, window: props.grey, width_px: width, height_px: height });
  });
  useEffect(() => {
    const element = canvas.current;
    return () => {
      if (element) paintNoMore(element);
    };
  }, []);
}

function useInput(ref: { current: HTMLDivElement | null }, props: PictureProps, map: PictureMap | null) {
  const greyDrag = useRef<{ x: number; y: number; window: GreyWindow } | null>(null);
  const step = useRef(props.onStep);
  step.current = props.onStep;
  useEffect(() => {
    const element = ref.current;
    if (!element) return;
    // Added by hand because the page must not scroll while the wheel moves through the section.
    const wheel = (event: WheelEvent): void => {
      if (!step.current || event.ctrlKey) return;
      event.preventDefault();
      step.current(Math.sign(event.deltaY));
    };
    element.addEventListener('wheel', wheel, { passive: false });
    return () => element.removeEventListener('wheel', wheel);
  }, []);
  const pointAt = (event: PointerEvent): void => {
    const box = ref.current?.getBoundingClientRect();
    if (!map || !box) return;
    props.onPoint?.(map.toPatient(event.clientX - box.left, event.clientY - box.top));
  };
  return {
    onPointerDown: (event: PointerEvent): void => {
      ref.current?.setPointerCapture(event.pointerId);
      if (event.button === 2 || event.altKey) greyDrag.current = { x: event.clientX, y: event.clientY, window: props.grey };
      else if (event.button === 0) pointAt(event);
    },
    onPointerMove: (event: PointerEvent): void => {
      const drag = greyDrag.current;
      if (drag) props.onGrey?.(dragWindow(drag.window, event.clientX - drag.x, event.clientY - drag.y, props.greyRange));
      else if (event.buttons === 1) pointAt(event);
    },
    onPointerUp: (): void => {
      greyDrag.current = null;
    },
    onContextMenu: (event: Event): void => event.preventDefault(),
    onKeyDown: (event: KeyboardEvent): void => {
      if (!event.ctrlKey && !event.metaKey && props.onKey?.(event.key, event.shiftKey)) {
        event.preventDefault();
        return;
      }
      const nudge: Record<string, readonly [number, number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
      const by = nudge[event.key];
      const far = event.shiftKey ? 5 : 1;
      if (by && props.onNudge) props.onNudge(by[0] * far, by[1] * far);
      else if (event.key === 'PageDown' && props.onStep) props.onStep(far);
      else if (event.key === 'PageUp' && props.onStep) props.onStep(-far);
      else if (event.key === 'Enter' && props.onEnter) props.onEnter();
      else return;
      event.preventDefault();
    },
  };
}
