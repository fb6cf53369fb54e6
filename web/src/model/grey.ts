/** Grey value shown black and grey value shown white. */
export interface GreyWindow {
  low: number;
  high: number;
}

/** The window after a drag: sideways makes it wider or narrower, up and down makes it darker or brighter. */
export function dragWindow(start: GreyWindow, dx: number, dy: number, range: number): GreyWindow {
  const step = range / 600;
  const width = Math.max(range / 200, start.high - start.low + dx * step);
  const middle = (start.high + start.low) / 2 + dy * step;
  return { low: middle - width / 2, high: middle + width / 2 };
}

export interface TissueWindow extends GreyWindow {
  key: 'whole' | 'canal' | 'dentine' | 'bone';
}

/** Levels the survey of a scan may tell; whatever is missing leaves its window out. */
export interface TissueLevels {
  soft?: number;
  dentine?: number;
  enamel?: number;
}

/** Named windows of a scan, the whole range always first. */
export function tissueWindows(whole: GreyWindow, levels: TissueLevels): TissueWindow[] {
  const windows: TissueWindow[] = [{ key: 'whole', ...whole }];
  const { soft, dentine, enamel } = levels;
  if (soft !== undefined && dentine !== undefined) {
    const rise = dentine - soft;
    windows.push({ key: 'canal', low: soft - 0.3 * rise, high: dentine + 0.25 * rise });
    windows.push({ key: 'bone', low: soft - 0.8 * rise, high: dentine });
    if (enamel !== undefined) windows.push({ key: 'dentine', low: soft, high: enamel + 0.15 * (enamel - dentine) });
  }
  return windows;
}
