import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { store } from '../../model/store';
import { t } from '../../model/words';

/** A panel over the chairside view. */
export function Over({ title, wide, children }: { title: string; wide?: boolean; children: ComponentChildren }) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  return (
    <dialog class={`card over ${wide ? 'wide' : ''}`} ref={dialog} aria-labelledby="over-title" onClose={() => store.openPanel(null)}>
      <header>
        <h2 id="over-title">{title}</h2>
        <button type="button" onClick={() => dialog.current?.close()}>
          {t('app.close')}
        </button>
      </header>
      {children}
    </dialog>
  );
}
