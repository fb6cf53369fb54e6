import { useEffect } from 'preact/hooks';
import { store } from '../model/store';
import { t } from '../model/words';

/** Takes back and does again what was done to the bars and the tooth; the names say what. */
export function HistoryButtons() {
  const { last, next } = store.history;
  const undo = last.value ? t('history.undo', { what: last.value.label }) : t('history.nothing');
  const redo = next.value ? t('history.redo', { what: next.value.label }) : t('history.nothingNext');
  return (
    <div class="history" role="group" aria-label={t('history.title')}>
      <button type="button" aria-label={undo} title={undo} disabled={!last.value} onClick={() => store.history.undo()}>
        ↶
      </button>
      <button type="button" aria-label={redo} title={redo} disabled={!next.value} onClick={() => store.history.redo()}>
        ↷
      </button>
    </div>
  );
}

/** Ctrl+Z takes back, Ctrl+Shift+Z or Ctrl+Y does again; in a field they keep their own meaning. */
export function useHistoryKeys(): void {
  useEffect(() => {
    const keys = (event: KeyboardEvent): void => {
      if (!(event.ctrlKey || event.metaKey) || (event.target as Element).matches('input:not([type=radio], [type=checkbox]), textarea')) return;
      const key = event.key.toLowerCase();
      if (key !== 'z' && key !== 'y') return;
      event.preventDefault();
      if (key === 'y' || event.shiftKey) store.history.redo();
      else store.history.undo();
    };
    addEventListener('keydown', keys);
    return () => removeEventListener('keydown', keys);
  }, []);
}
