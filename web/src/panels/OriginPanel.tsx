import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { ORIGINS, type OriginName, sourceName } from '../model/origins';
import { store } from '../model/store';
import { t } from '../model/words';
import { Origin } from '../view/Origin';

/** The name of a number that tells where it comes from. */
export function From({ of, children }: { of: OriginName; children: ComponentChildren }) {
  return (
    <Origin of={of} show={(name) => store.showOrigin(name)}>
      {children}
    </Origin>
  );
}

/** Where the number that was asked about comes from: how it is found, the page of its method and the sources. */
export function OriginPanel() {
  const name = store.state.origin.value;
  return name === null ? null : <Opened name={name} />;
}

function Opened({ name }: { name: OriginName }) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  const { method, sources } = ORIGINS[name];
  return (
    <dialog class="card origin-panel" ref={dialog} aria-labelledby="origin-title" onClose={() => store.showOrigin(null)}>
      <h2 id="origin-title">{t('origin.title')}</h2>
      <p>{t(`origin.${name}`)}</p>
      <p class="soft">
        {t('origin.method')} {`docs/methods/${method}.md`}
        <br />
        {sources.length > 0 ? `${t('origin.sources')} ${sources.map(sourceName).join('; ')}` : t('origin.noSource')}
      </p>
      <button type="button" onClick={() => dialog.current?.close()}>
        {t('app.close')}
      </button>
    </dialog>
  );
}
