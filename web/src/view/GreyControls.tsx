import * as format from '../model/format';
import type { GreyWindow, TissueWindow } from '../model/grey';
import { t } from '../model/words';

interface Props {
  grey: GreyWindow;
  whole: GreyWindow;
  tissues: readonly TissueWindow[];
  set: (window: GreyWindow) => void;
}

/** Grey window by the names of tissues and by two sliders; the same as dragging in a section. */
export function GreyControls({ grey, whole, tissues, set }: Props) {
  const step = Math.max(1, Math.round((whole.high - whole.low) / 200));
  const slider = (key: 'low' | 'high') => (
    <label>
      <span>{t(`grey.${key}`)}</span>
      <input
        type="range"
        min={Math.floor(whole.low)}
        max={Math.ceil(whole.high)}
        step={step}
        value={Math.round(grey[key])}
        onInput={(event) => {
          const value = Number(event.currentTarget.value);
          set(key === 'low' ? { low: Math.min(value, grey.high - step), high: grey.high } : { low: grey.low, high: Math.max(value, grey.low + step) });
        }}
      />
      <output>{format.fixed(grey[key], 0)}</output>
    </label>
  );
  return (
    <fieldset class="grey">
      <legend>{t('grey.title')}</legend>
      <div class="tissues">
        {tissues.map((tissue) => (
          <button
            key={tissue.key}
            type="button"
            aria-pressed={Math.abs(tissue.low - grey.low) < 1 && Math.abs(tissue.high - grey.high) < 1}
            onClick={() => set({ low: tissue.low, high: tissue.high })}
          >
            {t(`grey.${tissue.key}`)}
          </button>
        ))}
      </div>
      {slider('low')}
      {slider('high')}
    </fieldset>
  );
}
