import { useEffect, useLayoutEffect, useRef, useState } from 'preact/hooks';
import type { Device, Passage, Tooth } from '../api/documents';
import { findCanal, passageOf } from '../model/actions/work';
import { type CanalAt, canalAt, indexAt, sectionAxes, vectorAt } from '../model/canal';
import { diameterAt } from '../model/device';
import type { ToothFrame } from '../model/directions';
import type { Row } from '../model/state';
import { store } from '../model/store';
import { deviceAxis } from '../model/tube';
import { type Vec3, add, scale } from '../model/vec';
import { t } from '../model/words';
import { type Orbit, type SceneLook, START_ORBIT, ToothScene } from './tooth-scene';
import { useSize } from './useSize';

/** Where a viewer stands who looks against a direction of the patient: the inverse of the scene's aim. */
const azimuthOf = (toward_P: Vec3): number => Math.atan2(toward_P[0], -toward_P[1]);

/** From the cheek as a radiograph sees it, from mesial as none does, and into the crown. */
function viewsOf(frame: ToothFrame | null): { key: string; orbit: Partial<Orbit> }[] {
  const first = frame ? azimuthOf(frame.buccal) : 0;
  const second = frame ? azimuthOf(frame.mesial) : Math.PI / 2;
  return [
    { key: frame ? 'tooth3d.buccal' : 'tooth3d.front', orbit: { azimuth_rad: first, elevation_rad: 0 } },
    { key: frame ? 'tooth3d.mesial' : 'tooth3d.side', orbit: { azimuth_rad: second, elevation_rad: 0 } },
    { key: 'tooth3d.crown', orbit: { azimuth_rad: first, elevation_rad: frame?.upper ? -1.5 : 1.5 } },
  ];
}

function lookNow(): SceneLook {
  const style = getComputedStyle(document.documentElement);
  const read = (name: string): string => style.getPropertyValue(name).trim();
  return {
    shell: read('--tooth-shell'),
    canal: read('--canal'),
    device: read('--device'),
    cursor: read('--cursor'),
    risk: [read('--risk-0'), read('--risk-1'), read('--risk-2'), read('--risk-3')],
  };
}

/** The tooth, its canals, the chosen device and the cursor; turned by pointer and keys. */
export function Tooth3D({ tooth }: { tooth: Tooth }) {
  const { ref, width, height } = useSize<HTMLDivElement>();
  const canvas = useRef<HTMLCanvasElement>(null);
  const [scene, setScene] = useState<ToothScene | null>(null);
  const [failed, setFailed] = useState(false);
  const look = useLook();

  useEffect(() => {
    if (!canvas.current) return;
    try {
      const made = new ToothScene(canvas.current);
      setScene(made);
      return () => made.dispose();
    } catch {
      setFailed(true);
      return;
    }
  }, []);
  useEffect(() => scene?.resize(width, height), [scene, width, height]);
  useEffect(() => scene?.setTooth(tooth, lookNow()), [scene, tooth.surface, tooth.chamber, look]);
  useEffect(() => scene?.setCanals(tooth.canals, lookNow()), [scene, tooth.canals, look]);
  const frame = store.state.work.frame.value;
  useEffect(() => {
    if (frame) scene?.look({ azimuth_rad: azimuthOf(frame.buccal) + 0.3 });
  }, [scene, frame]);
  useDevice(scene, look);

  const drag = useRef<{ x: number; y: number } | null>(null);
  const keys = (event: KeyboardEvent): void => {
    const turn: Record<string, readonly [number, number]> = { ArrowLeft: [-0.12, 0], ArrowRight: [0.12, 0], ArrowUp: [0, 0.12], ArrowDown: [0, -0.12] };
    const by = turn[event.key];
    if (by) scene?.turn(by[0], by[1]);
    else if (event.key === '+' || event.key === '=') scene?.closer(0.87);
    else if (event.key === '-') scene?.closer(1.15);
    else if (event.key === 'Home') scene?.look(START_ORBIT);
    else return;
    event.preventDefault();
  };
  useEffect(() => {
    const element = canvas.current;
    if (!element || !scene) return;
    const wheel = (event: WheelEvent): void => {
      event.preventDefault();
      scene.closer(event.deltaY > 0 ? 1.1 : 0.91);
    };
    element.addEventListener('wheel', wheel, { passive: false });
    return () => element.removeEventListener('wheel', wheel);
  }, [scene]);

  return (
    <section class="card tooth3d" aria-labelledby="tooth3d-title">
      <h2 id="tooth3d-title">{t('tooth3d.title')}</h2>
      <div class="stage" ref={ref}>
        {failed && <p class="soft">{t('tooth3d.none')}</p>}
        <canvas
          ref={canvas}
          tabIndex={0}
          role="img"
          aria-label={`${t('tooth3d.title')}. ${t('tooth3d.help')}`}
          title={t('tooth3d.help')}
          onKeyDown={keys}
          onPointerDown={(event) => {
            event.currentTarget.setPointerCapture(event.pointerId);
            drag.current = { x: event.clientX, y: event.clientY };
          }}
          onPointerMove={(event) => {
            const from = drag.current;
            if (!from) return;
            scene?.turn((from.x - event.clientX) * 0.01, (event.clientY - from.y) * 0.01);
            drag.current = { x: event.clientX, y: event.clientY };
          }}
          onPointerUp={() => (drag.current = null)}
        />
        {scene && width > 0 && <CursorRing scene={scene} width={width} height={height} />}
      </div>
      <div class="views" role="group" aria-label={t('tooth3d.view')}>
        {viewsOf(store.state.work.frame.value).map(({ key, orbit }) => (
          <button key={key} type="button" onClick={() => scene?.look(orbit)}>
            {t(key)}
          </button>
        ))}
      </div>
    </section>
  );
}

/** Changes when the page changes between paper and night, so that colours are read anew. */
function useLook(): string {
  const [look, setLook] = useState(document.documentElement.dataset.look ?? '');
  useEffect(() => {
    const observer = new MutationObserver(() => setLook(document.documentElement.dataset.look ?? ''));
    observer.observe(document.documentElement, { attributeFilter: ['data-look'] });
    return () => observer.disconnect();
  }, []);
  return look;
}

/** Half the width in mm by which the cursor's ring stands off the canal, and the corners it is drawn with. */
const RING_MM = 0.55;
const RING_CORNERS = 40;

/**
 * The cursor as a ring round its canal, drawn over the picture: moving it costs no drawing of the tooth, and it is
 * seen through the tooth as it must be.
 */
function CursorRing({ scene, width, height }: { scene: ToothScene; width: number; height: number }) {
  const ring = useRef<SVGPolygonElement>(null);
  const cursor = store.state.work.cursor.value;
  useLayoutEffect(() => {
    const canal = cursor && findCanal(store.state, cursor.canal);
    const corners = canal ? ringCorners(canalAt(canal, cursor.depth_mm)) : [];
    const place = (): void => {
      const points = scene.project(corners).map(({ x, y }) => `${(x * width).toFixed(1)},${(y * height).toFixed(1)}`);
      ring.current?.setAttribute('points', points.join(' '));
    };
    place();
    scene.drawn = place;
  }, [scene, cursor, width, height]);
  return (
    <svg class="cursor-ring" width={width} height={height} aria-hidden="true">
      <polygon ref={ring} />
    </svg>
  );
}

function ringCorners(at: CanalAt): Vec3[] {
  const { right, down } = sectionAxes(at.tangent);
  const radius = at.diameter_mm / 2 + RING_MM;
  return Array.from({ length: RING_CORNERS }, (_, i) => {
    const a = (2 * Math.PI * i) / RING_CORNERS;
    return add(at.point_P, add(scale(right, radius * Math.cos(a)), scale(down, radius * Math.sin(a))));
  });
}

/** Without a graphics card a drawing of the tooth holds up all the rest; one that takes longer than this waits until the hand rests. */
const QUICK_MS = 50;
/** A hand that has not moved for this long rests. */
const REST_MS = 150;

function useDevice(scene: ToothScene | null, look: string): void {
  const row = store.state.work.selected.value;
  const passage = row ? passageOf(store.state, row) : undefined;
  const held = row ? store.state.work.held.value.get(row.id) : undefined;
  const device = row ? store.device(row.device) : undefined;
  const isHeld = held !== undefined;
  const took_ms = useRef(0);
  useLayoutEffect(() => {
    const show = (): void => {
      const begun_ms = performance.now();
      showDevice(scene, row, passage, device, isHeld);
      requestAnimationFrame(() => requestAnimationFrame(() => (took_ms.current = performance.now() - begun_ms)));
    };
    if (!isHeld || took_ms.current <= QUICK_MS) {
      show();
      return undefined;
    }
    const later = setTimeout(show, REST_MS);
    return () => clearTimeout(later);
  }, [scene, row, passage, device, isHeld, look]);
}

function showDevice(scene: ToothScene | null, row: Row | null, passage: Passage | undefined, device: Device | undefined, isHeld: boolean): void {
  const canal = row && findCanal(store.state, row.canal);
  const profile = passage?.profile;
  if (!canal || !profile || !device) {
    scene?.setDevice(null, lookNow());
    return;
  }
  const tip = isHeld ? (profile.depth_mm.at(-1) ?? 0) : passage.reaches_mm;
  const s = canal.samples;
  const lineAt = (d: number): Vec3 => vectorAt(s.point_mm, indexAt(s.depth_mm, d)) ?? canal.orifice_mm;
  scene?.setDevice(
    {
      points: deviceAxis(profile.depth_mm, profile.offset_mm, lineAt),
      radii_mm: profile.depth_mm.map((d) => Math.max(0.02, diameterAt(device, Math.max(0, tip - d)) / 2)),
    },
    lookNow(),
  );
}
