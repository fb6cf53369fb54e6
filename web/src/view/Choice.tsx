interface Props<Value extends string> {
  name: string;
  label: string;
  value: Value;
  options: readonly { value: Value; text: string }[];
  choose: (value: Value) => void;
}

/** A few exclusive options side by side, as radio buttons. */
export function Choice<Value extends string>({ name, label, value, options, choose }: Props<Value>) {
  return (
    <div class="choice" role="radiogroup" aria-label={label}>
      {options.map((option) => (
        <label key={option.value}>
          <input type="radio" name={name} value={option.value} checked={option.value === value} onChange={() => choose(option.value)} />
          {option.text}
        </label>
      ))}
    </div>
  );
}
