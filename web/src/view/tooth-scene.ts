import {
  AmbientLight,
  BufferAttribute,
  BufferGeometry,
  Color,
  DirectionalLight,
  DoubleSide,
  FrontSide,
  Group,
  Mesh,
  MeshLambertMaterial,
  MeshStandardMaterial,
  PerspectiveCamera,
  Scene,
  ShaderMaterial,
  Vector3,
  WebGLRenderer,
} from 'three';
import type { Canal, Tooth } from '../api/documents';
import { canalAt, riskAt } from '../model/canal';
import { type Mesh as MeshArrays, tube } from '../model/tube';
import { type Vec3, add, scale } from '../model/vec';

/** Colours the scene takes from the page's look. */
export interface SceneLook {
  shell: string;
  canal: string;
  device: string;
  cursor: string;
  risk: readonly [string, string, string, string];
}

/** Where the tooth is looked at from. */
export interface Orbit {
  azimuth_rad: number;
  elevation_rad: number;
  /** Distance as a multiple of what shows the whole tooth. */
  distance: number;
}

export const START_ORBIT: Orbit = { azimuth_rad: 0.35, elevation_rad: 0.12, distance: 1 };

/** Brighter toward the rim, so that a translucent shell shows its form without hiding what is inside. */
const RIM_VERTEX = `
varying vec3 vNormal; varying vec3 vView;
void main() {
  vec4 p = modelViewMatrix * vec4(position, 1.0);
  vNormal = normalize(normalMatrix * normal);
  vView = normalize(-p.xyz);
  gl_Position = projectionMatrix * p;
}`;
const RIM_FRAGMENT = `
uniform vec3 colour; uniform float least; uniform float most;
varying vec3 vNormal; varying vec3 vView;
void main() {
  float rim = 1.0 - abs(dot(normalize(vNormal), normalize(vView)));
  gl_FragColor = vec4(colour, mix(least, most, pow(rim, 2.2)));
}`;

/** The tooth in three dimensions. Draws only when asked to. */
export class ToothScene {
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new PerspectiveCamera(28, 1, 1, 400);
  private readonly anatomy = new Group();
  private readonly canals = new Group();
  private readonly deviceGroup = new Group();
  private middle: Vec3 = [0, 0, 0];
  /** Half the height of the tooth along the patient's z, and its largest radius round that axis. */
  private half_mm = { height: 12, radius: 6 };
  private waiting = 0;
  orbit: Orbit = { ...START_ORBIT };
  /** Called after each drawing: what lies over the picture must follow it. */
  drawn: () => void = () => undefined;

  constructor(canvas: HTMLCanvasElement) {
    this.renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    const key = new DirectionalLight(0xffffff, 2.2);
    key.position.set(-30, -60, 50);
    this.scene.add(new AmbientLight(0xffffff, 1.3), key, this.anatomy, this.canals, this.deviceGroup);
  }

  /** The canals change with every answer while one is corrected; the surfaces stay and are not built again. */
  setCanals(canals: readonly Canal[], look: SceneLook): void {
    dispose(this.canals);
    for (const canal of canals) this.canals.add(canalMesh(canal, look));
    this.draw();
  }

  setTooth(tooth: Pick<Tooth, 'surface' | 'chamber' | 'canals'>, look: SceneLook): void {
    dispose(this.anatomy);
    if (tooth.surface) this.anatomy.add(shell(tooth.surface, look.shell, 0.1, 0.75, 2));
    if (tooth.chamber) this.anatomy.add(shell(tooth.chamber, look.canal, 0.25, 0.8, 1));
    const vertices: readonly Vec3[] = tooth.surface?.vertices_mm ?? tooth.canals.flatMap((c) => c.samples.point_mm);
    const [low, high] = bounds(vertices);
    this.middle = scale(add(low, high), 0.5);
    this.half_mm = { height: Math.max(3, (high[2] - low[2]) / 2), radius: Math.max(2, Math.hypot(high[0] - low[0], high[1] - low[1]) / 2) };
    this.draw();
  }

  /** The device that is chosen: its axis and radius along it; null for none. */
  setDevice(axis: { points: readonly Vec3[]; radii_mm: readonly number[] } | null, look: SceneLook): void {
    dispose(this.deviceGroup);
    if (axis && axis.points.length > 1) {
      const material = new MeshStandardMaterial({ color: new Color(look.device), metalness: 0.3, roughness: 0.45, depthTest: false, transparent: true });
      const mesh = new Mesh(geometryOf(tube(axis.points, axis.radii_mm, 12)), material);
      mesh.renderOrder = 3;
      this.deviceGroup.add(mesh);
    }
    this.draw();
  }

  /** Where patient points fall on the canvas, in shares of its width and height from the top left. */
  project(points_P: readonly Vec3[]): { x: number; y: number }[] {
    return points_P.map((p) => {
      const v = new Vector3(...p).project(this.camera);
      return { x: (v.x + 1) / 2, y: (1 - v.y) / 2 };
    });
  }

  resize(width: number, height: number): void {
    if (width <= 0 || height <= 0) return;
    this.renderer.setSize(width, height, false);
    this.camera.aspect = width / height;
    this.draw();
  }

  turn(azimuth_rad: number, elevation_rad: number): void {
    this.orbit.azimuth_rad += azimuth_rad;
    this.orbit.elevation_rad = Math.min(1.5, Math.max(-1.5, this.orbit.elevation_rad + elevation_rad));
    this.draw();
  }

  closer(factor: number): void {
    this.orbit.distance = Math.min(3, Math.max(0.15, this.orbit.distance * factor));
    this.draw();
  }

  look(orbit: Partial<Orbit>): void {
    this.orbit = { ...START_ORBIT, ...orbit };
    this.draw();
  }

  draw(): void {
    if (this.waiting !== 0) return;
    this.waiting = requestAnimationFrame(() => {
      this.waiting = 0;
      this.aim();
      this.renderer.render(this.scene, this.camera);
      this.drawn();
    });
  }

  dispose(): void {
    cancelAnimationFrame(this.waiting);
    dispose(this.anatomy);
    dispose(this.canals);
    dispose(this.deviceGroup);
    this.renderer.dispose();
  }

  /** The patient's superior is up; at azimuth 0 the patient is looked at from the front. */
  private aim(): void {
    const { azimuth_rad: a, elevation_rad: e } = this.orbit;
    const half = (this.camera.fov * Math.PI) / 360;
    const { height, radius } = this.half_mm;
    const tall = height * Math.cos(e) + radius * Math.abs(Math.sin(e));
    const fit = Math.max(tall / Math.tan(half), radius / (Math.tan(half) * this.camera.aspect)) * 1.04 + radius;
    const far = fit * this.orbit.distance;
    const eye: Vec3 = [Math.sin(a) * Math.cos(e), -Math.cos(a) * Math.cos(e), Math.sin(e)];
    this.camera.up.set(0, 0, 1);
    this.camera.position.set(...add(this.middle, scale(eye, far)));
    this.camera.lookAt(...this.middle);
    this.camera.updateProjectionMatrix();
    this.camera.updateMatrixWorld();
  }
}

function bounds(points: readonly Vec3[]): [Vec3, Vec3] {
  const low: [number, number, number] = [Infinity, Infinity, Infinity];
  const high: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (const p of points) {
    for (const a of [0, 1, 2] as const) {
      low[a] = Math.min(low[a], p[a]);
      high[a] = Math.max(high[a], p[a]);
    }
  }
  return points.length > 0 ? [low, high] : [[0, 0, 0], [0, 0, 0]];
}

function shell(surface: NonNullable<Tooth['surface']>, colour: string, least: number, most: number, order: number): Mesh {
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(new Float32Array(surface.vertices_mm.flat()), 3));
  geometry.setIndex(new BufferAttribute(new Uint32Array(surface.triangles.flat()), 1));
  geometry.computeVertexNormals();
  const material = new ShaderMaterial({
    uniforms: { colour: { value: new Color(colour) }, least: { value: least }, most: { value: most } },
    vertexShader: RIM_VERTEX,
    fragmentShader: RIM_FRAGMENT,
    transparent: true,
    depthWrite: false,
    side: DoubleSide,
  });
  const mesh = new Mesh(geometry, material);
  mesh.renderOrder = order;
  return mesh;
}

function geometryOf(mesh: MeshArrays): BufferGeometry {
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(mesh.positions, 3));
  geometry.setAttribute('normal', new BufferAttribute(mesh.normals, 3));
  geometry.setIndex(new BufferAttribute(mesh.indices, 1));
  return geometry;
}

/** A canal at its true width, tinted by the worse of its curve and its wall. */
function canalMesh(canal: Canal, look: SceneLook): Mesh {
  const s = canal.samples;
  const arrays = tube(s.point_mm, s.diameter_mm.map((d) => d / 2), 16);
  const geometry = geometryOf(arrays);
  const tints = s.depth_mm.map((d) => {
    const risk = riskAt(canal, canalAt(canal, d));
    return new Color(risk === 0 ? look.canal : look.risk[risk]);
  });
  const colours = new Float32Array(arrays.ring.length * 3);
  arrays.ring.forEach((ring, i) => (tints[ring] ?? new Color(look.canal)).toArray(colours, i * 3));
  geometry.setAttribute('color', new BufferAttribute(colours, 3));
  const mesh = new Mesh(geometry, new MeshLambertMaterial({ vertexColors: true, side: FrontSide }));
  mesh.name = canal.name;
  return mesh;
}

function dispose(group: Group): void {
  for (const child of [...group.children]) {
    if (child instanceof Mesh) {
      (child.geometry as BufferGeometry).dispose();
      (child.material as ShaderMaterial).dispose();
    }
    group.remove(child);
  }
}

