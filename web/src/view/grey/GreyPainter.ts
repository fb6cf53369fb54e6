import {
  BufferAttribute,
  BufferGeometry,
  Camera,
  Data3DTexture,
  DynamicDrawUsage,
  GLSL3,
  HalfFloatType,
  LinearFilter,
  Matrix4,
  Mesh,
  NoBlending,
  RawShaderMaterial,
  RedFormat,
  Scene,
  Vector2,
  Vector3,
  WebGLRenderer,
} from 'three';
import type { Brick } from '../../model/brick';
import { type GridGeometry, axisDirection } from '../../model/grid';
import type { GreyWindow } from '../../model/grey';
import { type Layer, type Surface, stepsThrough } from '../../model/surface';
import { dot, scale } from '../../model/vec';
import { halfBrick } from './half';
import { FRAGMENT, VERTEX } from './shaders';

/** What to draw, and onto which canvas. */
export interface GreyJob {
  /** At most two; where the first has a value the second is not asked. */
  bricks: readonly Brick[];
  surface: Surface;
  layer: Layer;
  window: GreyWindow;
}

const GATHER: Readonly<Record<Layer['gather'], number>> = { mean: 0, most: 1, least: 2, rays: 3 };
const MOST_COLUMNS = 512;
/** Bricks kept on the card: those of the page that is open, and no others. */
const KEPT_BRICKS = 2;

interface Loaded {
  texture: Data3DTexture;
  middle: number;
  toTexture: Matrix4;
  edge: Vector3;
}

/**
 * Draws pictures of grey values on the graphics card. One drawing surface serves all pictures of the page, so that a
 * brick goes to the card once; each picture is then copied onto its own canvas.
 */
export class GreyPainter {
  private readonly renderer: WebGLRenderer;
  private readonly geometry = new BufferGeometry();
  private readonly mesh: Mesh<BufferGeometry, RawShaderMaterial>;
  /** One program for each of with and without a layer, with and without a second brick. */
  private readonly materials = new Map<string, RawShaderMaterial>();
  private readonly scene = new Scene();
  private readonly camera = new Camera();
  private readonly loaded = new Map<Brick, Loaded>();
  private readonly size = { width: 0, height: 0 };

  /** @throws when the browser gives no WebGL 2 */
  constructor() {
    this.renderer = new WebGLRenderer({ antialias: false, alpha: true, depth: false, stencil: false, powerPreference: 'high-performance' });
    this.renderer.autoClear = false;
    for (const [name, numbers] of [['place', 2], ['at', 3], ['through', 3]] as const) {
      this.geometry.setAttribute(name, new BufferAttribute(new Float32Array(2 * MOST_COLUMNS * numbers), numbers).setUsage(DynamicDrawUsage));
    }
    this.geometry.setIndex(stripIndex());
    this.mesh = new Mesh(this.geometry, this.materialFor(false, false));
    this.mesh.frustumCulled = false;
    this.scene.add(this.mesh);
  }

  /** Draws all jobs together and copies each onto its canvas. */
  paint(jobs: readonly { job: GreyJob; canvas: HTMLCanvasElement }[]): void {
    const places = pack(jobs.map(({ canvas }) => canvas));
    this.grow(places.width, places.height);
    this.renderer.setScissorTest(false);
    this.renderer.clear();
    this.renderer.setScissorTest(true);
    jobs.forEach(({ job, canvas }, i) => {
      const place = places.at[i];
      if (place) this.draw(job, place.x, place.y, canvas.width, canvas.height);
    });
    jobs.forEach(({ canvas }, i) => {
      const place = places.at[i];
      const context = canvas.getContext('2d');
      if (!place || !context) return;
      context.clearRect(0, 0, canvas.width, canvas.height);
      const { x, y } = place;
      context.drawImage(this.renderer.domElement, x, y, canvas.width, canvas.height, 0, 0, canvas.width, canvas.height);
    });
  }

  private draw(job: GreyJob, x: number, y: number, width: number, height: number): void {
    const [fine, coarse] = job.bricks.map((brick) => this.load(brick));
    if (!fine) return;
    const steps = stepsThrough(job.layer, job.bricks);
    this.mesh.material = this.materialFor(steps > 1 || job.layer.gather === 'rays', coarse !== undefined);
    const u = this.mesh.material.uniforms;
    const set = (name: string, value: unknown): void => {
      const uniform = u[name];
      if (uniform) uniform.value = value;
    };
    set('fine', fine.texture);
    set('fineMiddle', fine.middle);
    set('fineEdge', fine.edge);
    set('toFine', fine.toTexture);
    if (coarse) {
      set('coarse', coarse.texture);
      set('coarseMiddle', coarse.middle);
      set('coarseEdge', coarse.edge);
      set('toCoarse', coarse.toTexture);
    }
    set('steps', steps);
    set('stepLength_mm', job.layer.thick_mm / steps);
    set('gather', GATHER[job.layer.gather]);
    set('window', new Vector2(job.window.low, job.window.high));
    this.fill(job.surface, job.layer.thick_mm);
    // Places count from the top, the card's rows from below.
    const below = this.size.height - y - height;
    this.renderer.setViewport(x, below, width, height);
    this.renderer.setScissor(x, below, width, height);
    this.renderer.render(this.scene, this.camera);
  }

  /** The strip of quads of a surface. */
  private fill(surface: Surface, thick_mm: number): void {
    const columns = surface.slice(0, MOST_COLUMNS);
    const place = this.geometry.getAttribute('place') as BufferAttribute;
    const at = this.geometry.getAttribute('at') as BufferAttribute;
    const through = this.geometry.getAttribute('through') as BufferAttribute;
    columns.forEach((column, i) => {
      const slab = scale(column.through_P, thick_mm);
      for (const [k, point] of [column.top_P, column.bottom_P].entries()) {
        place.setXY(2 * i + k, 2 * column.x - 1, k === 0 ? 1 : -1);
        at.setXYZ(2 * i + k, ...point);
        through.setXYZ(2 * i + k, ...slab);
      }
    });
    for (const attribute of [place, at, through]) attribute.needsUpdate = true;
    this.geometry.setDrawRange(0, 6 * Math.max(0, columns.length - 1));
  }

  private materialFor(layer: boolean, coarse: boolean): RawShaderMaterial {
    const key = `${layer} ${coarse}`;
    const kept = this.materials.get(key) ?? makeMaterial({ ...(layer && { LAYER: 1 }), ...(coarse && { COARSE: 1 }) });
    this.materials.set(key, kept);
    return kept;
  }

  private load(brick: Brick): Loaded {
    const kept = this.loaded.get(brick);
    if (kept) {
      // The one used last stands last.
      this.loaded.delete(brick);
      this.loaded.set(brick, kept);
      return kept;
    }
    const made = loadBrick(brick);
    this.loaded.set(brick, made);
    for (const [old, { texture }] of this.loaded) {
      if (this.loaded.size <= KEPT_BRICKS) break;
      texture.dispose();
      this.loaded.delete(old);
    }
    return made;
  }

  private grow(width: number, height: number): void {
    if (width <= this.size.width && height <= this.size.height) return;
    this.size.width = Math.max(this.size.width, width);
    this.size.height = Math.max(this.size.height, height);
    this.renderer.setSize(this.size.width, this.size.height, false);
  }
}

function makeMaterial(defines: Record<string, number>): RawShaderMaterial {
  const names = ['fine', 'fineMiddle', 'fineEdge', 'toFine', 'coarse', 'coarseMiddle', 'coarseEdge', 'toCoarse', 'steps', 'stepLength_mm', 'gather', 'window'];
  return new RawShaderMaterial({
    glslVersion: GLSL3,
    defines,
    vertexShader: VERTEX,
    fragmentShader: FRAGMENT,
    uniforms: Object.fromEntries(names.map((name) => [name, { value: null }])),
    blending: NoBlending,
    depthTest: false,
    depthWrite: false,
    side: 2,
  });
}

function stripIndex(): BufferAttribute {
  const index = new Uint16Array(6 * (MOST_COLUMNS - 1));
  for (let i = 0; i < MOST_COLUMNS - 1; i++) {
    const a = 2 * i;
    index.set([a, a + 1, a + 2, a + 2, a + 1, a + 3], 6 * i);
  }
  return new BufferAttribute(index, 1);
}

function loadBrick(brick: Brick): Loaded {
  const [ni, nj, nk] = brick.geometry.size;
  const half = halfBrick(brick.values);
  const texture = new Data3DTexture(half.values, ni, nj, nk);
  texture.format = RedFormat;
  texture.type = HalfFloatType;
  texture.minFilter = LinearFilter;
  texture.magFilter = LinearFilter;
  texture.unpackAlignment = 2;
  texture.needsUpdate = true;
  return {
    texture,
    middle: half.middle,
    toTexture: patientToTexture(brick.geometry),
    edge: new Vector3(0.5 / ni, 0.5 / nj, 0.5 / nk).multiplyScalar(1 - 1e-4),
  };
}

/** Patient millimetres to texture coordinates, where the middle of voxel i stands at (i + 1/2) / n. */
function patientToTexture(grid: GridGeometry): Matrix4 {
  const row = (axis: 0 | 1 | 2): readonly [number, number, number, number] => {
    const n = grid.size[axis];
    const along = scale(axisDirection(grid, axis), 1 / (grid.spacing_mm[axis] * n));
    return [...along, 0.5 / n - dot(along, grid.origin_mm)];
  };
  return new Matrix4().set(...row(0), ...row(1), ...row(2), 0, 0, 0, 1);
}

/** Width of the drawing surface beyond which the next row begins. */
const ROW_PX = 2048;

/** Places of rectangles in rows from the top left; equal heights lie beside each other without waste. */
export function pack(sizes: readonly { width: number; height: number }[]): { at: { x: number; y: number }[]; width: number; height: number } {
  const at: { x: number; y: number }[] = [];
  let x = 0;
  let y = 0;
  let tall = 0;
  let wide = 0;
  for (const { width, height } of sizes) {
    if (x > 0 && x + width > ROW_PX) {
      y += tall;
      x = 0;
      tall = 0;
    }
    at.push({ x, y });
    x += width;
    tall = Math.max(tall, height);
    wide = Math.max(wide, x);
  }
  return { at, width: wide, height: y + tall };
}
