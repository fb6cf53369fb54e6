import { useSignal } from '@preact/signals';
import * as format from '../../model/format';
import { t } from '../../model/words';

const STEPS_MM = [-0.5, -0.1, 0.1, 0.5] as const;

interface Props {
  label: string;
  start_mm: number;
  /** What lies outside is a slip of the finger. */
  range: { least_mm: number; most_mm: number };
  save: (depth_mm: number) => void;
}

/** A depth in mm, by large keys or typed. */
export function DepthPad({ label, start_mm, range, save }: Props) {
  const text = useSignal(format.fixed(start_mm, 1));
  /** The first digit replaces what stood there to begin with. */
  const fresh = useSignal(true);
  const value = format.typed(text.value);
  const fits = value !== null && value >= range.least_mm && value <= range.most_mm;
  const press = (key: string): void => {
    text.value = (fresh.value ? '' : text.value) + key;
    fresh.value = false;
  };
  const step = (mm: number): void => {
    text.value = format.fixed(Math.max(0, (value ?? start_mm) + mm), 1);
    fresh.value = true;
  };
  return (
    <form
      class="pad"
      onSubmit={(event) => {
        event.preventDefault();
        if (fits) save(value);
      }}
    >
      <label>
        {label}
        <span class="pad-value">
          <input
            type="text"
            inputMode="decimal"
            autocomplete="off"
            value={text.value}
            aria-invalid={!fits}
            aria-describedby="pad-hint"
            autofocus
            onFocus={(event) => event.currentTarget.select()}
            onInput={(event) => {
              text.value = event.currentTarget.value;
              fresh.value = false;
            }}
          />{' '}
          mm
        </span>
      </label>
      <p id="pad-hint" role="status" class={fits ? 'soft' : 'mind'}>
        {fits ? t('pad.hint') : t('pad.range', { least: format.fixed(range.least_mm, 1), most: format.fixed(range.most_mm, 1) })}
      </p>
      <div class="pad-steps">
        {STEPS_MM.map((mm) => (
          <button key={mm} type="button" onClick={() => step(mm)}>
            {mm > 0 ? '+' : ''}
            {format.fixed(mm, 1)}
          </button>
        ))}
      </div>
      <div class="pad-keys">
        {['7', '8', '9', '4', '5', '6', '1', '2', '3'].map((key) => (
          <button key={key} type="button" onClick={() => press(key)}>
            {key}
          </button>
        ))}
        <button type="button" onClick={() => press(format.decimalMark())}>
          {format.decimalMark()}
        </button>
        <button type="button" onClick={() => press('0')}>
          0
        </button>
        <button
          type="button"
          aria-label={t('pad.erase')}
          onClick={() => {
            text.value = text.value.slice(0, -1);
            fresh.value = false;
          }}
        >
          ⌫
        </button>
      </div>
      <button class="act big" type="submit" disabled={!fits}>
        {t('pad.save')}
      </button>
    </form>
  );
}
