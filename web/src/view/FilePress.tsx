interface Props {
  id: string;
  text: string;
  accept: string;
  disabled: boolean;
  take: (file: File) => void;
}

/** A button that asks for one file. The field itself takes the focus, so that the keyboard and readers meet it once. */
export function FilePress({ id, text, accept, disabled, take }: Props) {
  return (
    <span class="file-press">
      <input
        id={id}
        class="unseen"
        type="file"
        accept={accept}
        disabled={disabled}
        aria-label={text}
        onChange={(event) => {
          const file = event.currentTarget.files?.[0];
          event.currentTarget.value = '';
          if (file) take(file);
        }}
      />
      <button type="button" disabled={disabled} tabIndex={-1} aria-hidden="true" onClick={() => document.getElementById(id)?.click()}>
        {text}
      </button>
    </span>
  );
}
