import { signal } from '@preact/signals';
import type { AlongShape } from './along';
import { type Layer, THIN } from './surface';
import { type Vec3, distance, dot, subtract, unit } from './vec';

/** What a press in a picture does. */
export type PictureTool = 'cursor' | 'length' | 'angle' | 'new-canal' | 'reference' | 'outline';

/** Two points and their distance, or three and the angle at the middle one; a canal to be added is two points. */
export interface Measured {
  kind: 'length' | 'angle' | 'new-canal';
  points_P: readonly Vec3[];
}

export const pointsNeeded = (kind: Measured['kind']): number => (kind === 'angle' ? 3 : 2);

/** Length in mm, or angle in degrees from 0 to 180; null while points are missing. */
export function measuredValue({ kind, points_P }: Measured): number | null {
  const [a, b, c] = points_P;
  if (!a || !b) return null;
  if (kind !== 'angle') return distance(a, b);
  if (!c) return null;
  const cosine = dot(unit(subtract(a, b)), unit(subtract(c, b)));
  return (Math.acos(Math.min(1, Math.max(-1, cosine))) * 180) / Math.PI;
}

/** Thicknesses a layer can have; 0 is the plane itself. */
export const LAYERS_MM = [0, 0.5, 1, 2, 4] as const;

/** How the pictures of a case are shown. */
export interface PictureSettings {
  /** The pictures take the page and the ruler a strip of it. */
  large: boolean;
  layer: Layer;
  shape: AlongShape;
  /** Direction that points up in the picture along the canal, degrees from buccal toward mesial. */
  alongTurn_deg: number;
  /** Where the viewer of the expected radiograph stands, degrees from buccal toward mesial. */
  rayTurn_deg: number;
}

export function createPictures() {
  return {
    large: signal(false),
    layer: signal<Layer>(THIN),
    shape: signal<AlongShape>('straight'),
    alongTurn_deg: signal(0),
    rayTurn_deg: signal(0),
    tool: signal<PictureTool>('cursor'),
    measured: signal<readonly Measured[]>([]),
    /** The one whose points are being set. */
    begun: signal<Measured | null>(null),
  };
}
