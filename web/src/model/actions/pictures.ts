import { type PictureTool, pointsNeeded } from '../pictures';
import { type Vec3, length, reject, subtract } from '../vec';
import { nearestPlace } from '../canal';
import { newCanalEdit, referenceEdit } from '../corrections';
import type { Context } from './context';
import type { Corrections } from './corrections';
import { canalsOf, pin } from './work';

/** A press further than this from every canal leaves the cursor where it is. */
const NEAR_MM = 3;

/** A press in a picture: sets the cursor to the nearest place of a canal, or a point of the measure in hand. */
export function pressPicture(context: Context, corrections: Corrections, point_P: Vec3): void {
  const pictures = context.state.work.pictures;
  const tool = pictures.tool.value;
  if (tool === 'cursor') {
    const place = nearestPlace(canalsOf(context.state), point_P);
    if (place && place.distance_mm < NEAR_MM) pin(context, place);
    return;
  }
  // Drawn in the picture across only, by its own pen.
  if (tool === 'outline') return;
  if (tool === 'reference') {
    corrections.make(referenceEdit(point_P));
    pictures.tool.value = 'cursor';
    return;
  }
  const begun = pictures.begun.value?.kind === tool ? pictures.begun.value : { kind: tool, points_P: [] };
  const next = { kind: tool, points_P: [...begun.points_P, point_P] };
  const done = next.points_P.length >= pointsNeeded(tool);
  pictures.begun.value = done ? null : next;
  if (!done) return;
  const [first, second] = next.points_P;
  if (tool === 'new-canal' && first && second) {
    corrections.make(newCanalEdit(first, second));
    pictures.tool.value = 'cursor';
  } else pictures.measured.value = [...pictures.measured.value, next];
}

/** Choosing a tool drops what was begun with another. */
export function chooseTool({ state }: Context, tool: PictureTool): void {
  state.work.pictures.tool.value = tool;
  state.work.pictures.begun.value = null;
}

export function forgetMeasured({ state }: Context, index: number): void {
  const { measured } = state.work.pictures;
  measured.value = measured.value.filter((_, i) => i !== index);
}

/** A press in a radiograph: of all the places of the canals, the one whose shadow lies nearest. */
export function pressRays(context: Context, point_P: Vec3, viewer_P: Vec3): void {
  const all = canalsOf(context.state).flatMap((canal) =>
    canal.samples.point_mm.map((p, i) => ({ canal: canal.name, depth_mm: canal.samples.depth_mm[i] ?? 0, away_mm: length(reject(subtract(p, point_P), viewer_P)) })),
  );
  const nearest = all.reduce((best, place) => (place.away_mm < best.away_mm ? place : best), { canal: '', depth_mm: 0, away_mm: NEAR_MM });
  if (nearest.canal !== '') pin(context, nearest);
}
