import * as format from '../../model/format';
import { tissueWindows } from '../../model/grey';
import { LAYERS_MM, type PictureTool } from '../../model/pictures';
import { store } from '../../model/store';
import { tissueLevels } from '../../model/survey';
import { t } from '../../model/words';
import { Choice } from '../../view/Choice';
import { GreyControls } from '../../view/GreyControls';
import { CorrectPart } from './CorrectPart';
import { RayAngles } from './RayAngles';
import { measuredText } from './shared';

/** Beside large pictures: how they are cut and shown, what is measured in them. */
export function ReadingPanel() {
  const { scan, grey } = store.state.work;
  return (
    <div class="card reading-panel" tabIndex={0} role="region" aria-label={t('reading.title')}>
      <LayerPart />
      <AlongPart />
      <RayAngles />
      <MeasurePart />
      <CorrectPart />
      {scan.value && (
        <GreyControls grey={grey.value} whole={scan.value.grey} tissues={tissueWindows(scan.value.grey, tissueLevels(scan.value.survey))} set={(window) => store.setWorkGrey(window)} />
      )}
    </div>
  );
}

function LayerPart() {
  const layer = store.state.work.pictures.layer.value;
  return (
    <section class="part">
      <h3>{t('layer.title')}</h3>
      <Choice
        name="layer"
        label={t('layer.title')}
        value={String(layer.thick_mm)}
        options={LAYERS_MM.map((mm) => ({ value: String(mm), text: mm === 0 ? t('layer.none') : format.plain(mm) }))}
        choose={(mm) => store.setPictures({ layer: { ...layer, thick_mm: Number(mm) } })}
      />
      {layer.thick_mm > 0 && (
        <Choice
          name="gather"
          label={t('layer.gather')}
          value={layer.gather}
          options={(['mean', 'most', 'least'] as const).map((value) => ({ value, text: t(`layer.${value}`) }))}
          choose={(gather) => store.setPictures({ layer: { ...layer, gather } })}
        />
      )}
    </section>
  );
}

function AlongPart() {
  const { shape, alongTurn_deg } = store.state.work.pictures;
  return (
    <section class="part">
      <h3>{t('along.title')}</h3>
      <Choice
        name="shape"
        label={t('along.title')}
        value={shape.value}
        options={(['straight', 'bent'] as const).map((value) => ({ value, text: t(`along.choose.${value}`) }))}
        choose={(value) => store.setPictures({ shape: value })}
      />
      <label class="turn">
        <span>{t('along.turn')}</span>
        <input type="range" min={0} max={175} step={5} value={alongTurn_deg.value} onInput={(event) => store.setPictures({ alongTurn_deg: Number(event.currentTarget.value) })} />
        <output>{format.fixed(alongTurn_deg.value, 0)}°</output>
      </label>
    </section>
  );
}

function MeasurePart() {
  const { tool, measured, begun } = store.state.work.pictures;
  // A press that corrects is asked for where correcting is.
  const asking = tool.value === 'new-canal' || tool.value === 'reference' || tool.value === 'outline';
  return (
    <section class="part">
      <h3>{t('measure.title')}</h3>
      <Choice<PictureTool>
        name="tool"
        label={t('measure.title')}
        value={asking ? 'cursor' : tool.value}
        options={(['cursor', 'length', 'angle'] as const).map((value) => ({ value, text: t(`measure.${value}`) }))}
        choose={(value) => store.chooseTool(value)}
      />
      <p class="soft" aria-live="polite">
        {t(`measure.help.${asking ? 'cursor' : tool.value}`, { n: begun.value?.points_P.length ?? 0 })}
      </p>
      <ul class="measured">
        {measured.value.map((m, i) => (
          <li key={i}>
            <span>{t(`measure.${m.kind}`)}</span> <b class="number">{measuredText(m)}</b>
            <button type="button" class="plain" aria-label={t('measure.forget', { what: measuredText(m) })} onClick={() => store.forgetMeasured(i)}>
              ×
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}
