/**
 * Four steps of risk, drawn by height and tint together and named in words.
 *
 * Curves, by radius: up to 4 mm severe, up to 8 mm moderate (Estrela 2008, three-point radius, from memory); up to
 * 16 mm slight (ours: twice the moderate limit). Walls: under 0.3 mm no longer safe (Lim and Stock 1987, from memory);
 * under 0.5 and 1.0 mm thin and moderate (ours).
 */
export type RiskStep = 0 | 1 | 2 | 3;

export const CURVE_LIMITS_MM = [16, 8, 4] as const;
export const WALL_LIMITS_MM = [1.0, 0.5, 0.3] as const;

function stepBelow(value: number, limits: readonly [number, number, number]): RiskStep {
  if (value <= limits[2]) return 3;
  if (value <= limits[1]) return 2;
  return value <= limits[0] ? 1 : 0;
}

export const curveRisk = (curvature_per_mm: number): RiskStep =>
  stepBelow(curvature_per_mm > 0 ? 1 / curvature_per_mm : Infinity, CURVE_LIMITS_MM);

export const wallRisk = (wall_mm: number): RiskStep => stepBelow(wall_mm, WALL_LIMITS_MM);

/** Near the foramen a wall runs out as the root does, which is no danger: the last stretch is left out, as the measures do. Ours. */
export const WALL_ENDS_MM = 2;

export const worse = (a: RiskStep, b: RiskStep): RiskStep => (a > b ? a : b);

/** Below this probability a canal is marked as doubtful. Ours. */
export const DOUBTFUL = 0.9;
