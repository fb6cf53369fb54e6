import { canalsOf } from '../../model/actions/work';
import * as format from '../../model/format';
import type { PictureTool } from '../../model/pictures';
import { store } from '../../model/store';
import { t } from '../../model/words';
import { Message } from '../../view/Message';
import { HistoryButtons } from '../HistoryButtons';

/** Correcting by hand: begins and ends it, adds and removes canals, sets the reference point; handles are in the pictures. */
export function CorrectPart() {
  const { possible, on, preparing, sentence, busy, list } = store.state.work.corrections;
  const making = preparing.value;
  return (
    <section class="part correct" aria-busy={busy.value}>
      <h3>{t('correct.title')}</h3>
      {sentence.value !== null && <Message sentence={sentence.value} />}
      {!possible.value && <p class="soft">{t('correct.notPossible')}</p>}
      {possible.value && !on.value && !making && (
        <button type="button" onClick={() => void store.corrections.begin()}>
          {t('correct.begin')}
        </button>
      )}
      {making && (
        <p role="status" class="soft">
          {t('correct.preparing')} … {format.fixed(100 * making.fraction, 0)} %
        </p>
      )}
      {on.value && <Tools />}
      {list.value.edits.length > 0 && <p class="soft">{t('correct.count', { n: list.value.edits.length })}</p>}
    </section>
  );
}

function Tools() {
  const { tool, begun } = store.state.work.pictures;
  const press = (which: PictureTool): void => store.chooseTool(tool.value === which ? 'cursor' : which);
  return (
    <>
      <p class="soft">{t('correct.help')}</p>
      <div class="correct-tools">
        <button type="button" aria-pressed={tool.value === 'outline'} onClick={() => press('outline')}>
          {t('correct.outline')}
        </button>
        <button type="button" aria-pressed={tool.value === 'new-canal'} onClick={() => press('new-canal')}>
          {t('correct.newCanal')}
        </button>
        <button type="button" aria-pressed={tool.value === 'reference'} onClick={() => press('reference')}>
          {t('correct.reference')}
        </button>
        <HistoryButtons />
        <button type="button" onClick={() => store.corrections.end()}>
          {t('correct.end')}
        </button>
      </div>
      {tool.value === 'outline' && <p role="status">{t('correct.outline.draw')}</p>}
      {tool.value === 'new-canal' && <p role="status">{t(begun.value ? 'correct.newCanal.end' : 'correct.newCanal.orifice')}</p>}
      {tool.value === 'reference' && <p role="status">{t('correct.reference.press')}</p>}
      <ul class="correct-canals">
        {canalsOf(store.state).map((canal) => (
          <li key={canal.name}>
            <b>{canal.name}</b> {canal.by_hand && <span class="soft">{t('correct.byHand')}</span>}
            <button type="button" class="plain" onClick={() => store.corrections.make({ kind: 'remove-canal', canal: canal.name })}>
              {t('correct.remove', { canal: canal.name })}
            </button>
          </li>
        ))}
      </ul>
    </>
  );
}
