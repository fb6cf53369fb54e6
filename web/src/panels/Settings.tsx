import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { NOTATIONS, PEDALS, type Pedal, THEMES } from '../model/settings';
import { store } from '../model/store';
import { LANGUAGES, t } from '../model/words';
import { Choice } from '../view/Choice';

/** The button in the bar, and what it opens. */
export function SettingsButton() {
  const open = useSignal(false);
  return (
    <>
      <button type="button" onClick={() => (open.value = true)}>
        {t('settings.title')}
      </button>
      {open.value && <SettingsDialog close={() => (open.value = false)} />}
    </>
  );
}

function SettingsDialog({ close }: { close: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  const now = store.state.settings.value;
  return (
    <dialog class="card settings" ref={dialog} aria-labelledby="settings-title" onClose={close}>
      <header>
        <h2 id="settings-title">{t('settings.title')}</h2>
        <button type="button" onClick={() => dialog.current?.close()}>
          {t('app.close')}
        </button>
      </header>
      <Line label={t('settings.language')}>
        <Choice
          name="language"
          label={t('settings.language')}
          value={now.language}
          options={LANGUAGES.map((value) => ({ value, text: t(`settings.language.${value}`) }))}
          choose={(language) => store.setSettings({ language })}
        />
      </Line>
      <Line label={t('settings.notation')}>
        <Choice
          name="notation"
          label={t('settings.notation')}
          value={now.notation}
          options={NOTATIONS.map((value) => ({ value, text: t(`settings.notation.${value}`) }))}
          choose={(notation) => store.setSettings({ notation })}
        />
      </Line>
      <Line label={t('app.theme')}>
        <Choice
          name="look"
          label={t('app.theme')}
          value={now.theme}
          options={THEMES.map((value) => ({ value, text: t(`app.theme.${value}`) }))}
          choose={(theme) => store.setSettings({ theme })}
        />
      </Line>
      <h3>{t('settings.chair')}</h3>
      <p class="soft">{t('settings.pedalHelp')}</p>
      {PEDALS.map((pedal) => (
        <Line key={pedal} label={t(`settings.pedal.${pedal}`)}>
          <KeyButton pedal={pedal} />
        </Line>
      ))}
      <label class="tick">
        <input type="checkbox" checked={now.spoken} onChange={(event) => store.setSettings({ spoken: event.currentTarget.checked })} />
        {t('settings.spoken')}
      </label>
      {now.guided && (
        <button type="button" onClick={() => store.setSettings({ guided: false })}>
          {t('guide.again')}
        </button>
      )}
      <p class="soft">{t('settings.programWords')}</p>
    </dialog>
  );
}

function Line({ label, children }: { label: string; children: ComponentChildren }) {
  return (
    <div class="line">
      <span aria-hidden="true">{label}</span>
      {children}
    </div>
  );
}

/** Name of a key as a person reads it. */
export const keyName = (key: string): string => (key === ' ' ? t('key.space') : key.length === 1 ? key.toUpperCase() : t(`key.${key}`));

/** Shows the key of a pedal; pressed, it takes the next key as the new one. Tab and Escape keep their meaning. */
function KeyButton({ pedal }: { pedal: Pedal }) {
  const waiting = useSignal(false);
  const name = keyName(store.state.settings.value.keys[pedal]);
  const take = (event: KeyboardEvent): void => {
    if (!waiting.value || event.key === 'Tab') return;
    event.preventDefault();
    event.stopPropagation();
    waiting.value = false;
    if (event.key !== 'Escape') store.setPedalKey(pedal, event.key);
  };
  return (
    <button
      type="button"
      class="key"
      aria-label={waiting.value ? t('settings.pressKey') : t('settings.keyNow', { what: t(`settings.pedal.${pedal}`), key: name })}
      onKeyDown={take}
      onBlur={() => (waiting.value = false)}
      onClick={(event) => {
        event.currentTarget.focus();
        waiting.value = true;
      }}
    >
      {waiting.value ? t('settings.pressKey') : name}
    </button>
  );
}
