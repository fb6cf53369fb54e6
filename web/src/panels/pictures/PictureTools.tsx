import type { ScanDetail } from '../../api/documents';
import { tissueWindows } from '../../model/grey';
import { store } from '../../model/store';
import { tissueLevels } from '../../model/survey';
import { t } from '../../model/words';

/** Zoom, the grey windows by the names of tissues, and the switch between small and large pictures. */
export function PictureTools({ scan, zoom, setZoom }: { scan: ScanDetail; zoom: number; setZoom: (zoom: number) => void }) {
  const grey = store.state.work.grey.value;
  const large = store.state.work.pictures.large.value;
  return (
    <div class="picture-tools" role="group" aria-label={t('grey.title')}>
      <button class="size-switch" type="button" aria-pressed={large} onClick={() => store.setPictures({ large: !large })}>
        {large ? t('pictures.small') : t('pictures.large')}
      </button>
      <button type="button" aria-label={t('section.closer')} title={t('section.closer')} disabled={zoom >= 8} onClick={() => setZoom(Math.min(8, zoom * 1.5))}>
        +
      </button>
      <button type="button" aria-label={t('section.wider')} title={t('section.wider')} disabled={zoom <= 1} onClick={() => setZoom(Math.max(1, zoom / 1.5))}>
        −
      </button>
      {!large &&
        tissueWindows(scan.grey, tissueLevels(scan.survey)).map((w) => (
        <button
          key={w.key}
          class="tissue"
          type="button"
          aria-pressed={Math.abs(w.low - grey.low) < 1 && Math.abs(w.high - grey.high) < 1}
          onClick={() => store.setWorkGrey({ low: w.low, high: w.high })}
        >
          {t(`grey.${w.key}`)}
        </button>
      ))}
    </div>
  );
}
