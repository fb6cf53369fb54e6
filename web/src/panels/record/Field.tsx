import { useId } from 'preact/hooks';
import type { Notes, Value } from '../../model/record';
import { t } from '../../model/words';

/** What a JSON Schema says of a value, as far as the form needs it. */
export interface Shape {
  type?: string;
  enum?: readonly string[];
  $ref?: string;
  properties?: Readonly<Record<string, Shape>>;
  items?: Shape;
  minimum?: number;
  maximum?: number;
}

interface Props {
  /** The key, which names the label: `record.KEY`. */
  name: string;
  shape: Shape;
  value: Value;
  change: (value: Value) => void;
}

/** One field of the form, made from what the schema says of it. */
export function Field({ name, shape, value, change }: Props) {
  if (shape.properties) return <Group name={name} shape={shape} value={value} change={change} />;
  if (shape.type === 'array') return <List name={name} shape={shape} value={value} change={change} />;
  return <Entry name={name} shape={shape} value={value} change={change} />;
}

function Group({ name, shape, value, change }: Props) {
  const notes = (value ?? {}) as Notes;
  return (
    <fieldset>
      <legend>{t(`record.${name}`)}</legend>
      {Object.entries(shape.properties ?? {}).map(([key, inner]) => (
        <Field key={key} name={key} shape={inner} value={notes[key]} change={(next) => change({ ...notes, [key]: next })} />
      ))}
    </fieldset>
  );
}

function List({ name, shape, value, change }: Props) {
  const list = (value ?? []) as Value[];
  const items = shape.items ?? {};
  const put = (at: number, next: Value): void => change(list.map((one, i) => (i === at ? next : one)));
  return (
    <fieldset class="list">
      <legend>{t(`record.${name}`)}</legend>
      <ol>
        {list.map((one, at) => (
          <li key={at}>
            {items.properties ? (
              <div class="line">
                {Object.entries(items.properties).map(([key, inner]) => (
                  <Field key={key} name={key} shape={inner} value={((one ?? {}) as Notes)[key]} change={(next) => put(at, { ...((one ?? {}) as Notes), [key]: next })} />
                ))}
              </div>
            ) : (
              <Entry name={name} shape={items} value={one} change={(next) => put(at, next)} />
            )}
            <button type="button" class="plain" onClick={() => change(list.filter((_, i) => i !== at))}>
              {t('record.remove')}
            </button>
          </li>
        ))}
      </ol>
      <button type="button" onClick={() => change([...list, items.properties ? {} : ''])}>
        {t('record.add', { what: t(`record.${name}`) })}
      </button>
    </fieldset>
  );
}

function Entry({ name, shape, value, change }: Props) {
  const id = useId();
  return (
    <div class="entry">
      <label for={id}>{t(`record.${name}`)}</label>
      <Input id={id} shape={shape} value={value} change={change} />
    </div>
  );
}

function Input({ id, shape, value, change }: Omit<Props, 'name'> & { id: string }) {
  if (shape.enum) {
    const options = shape.enum.map((one) => ({ value: one, text: t(`record.is.${one}`) }));
    return <Select id={id} value={String(value ?? '')} options={options} choose={(one) => change(one === '' ? undefined : one)} />;
  }
  if (shape.type === 'boolean') {
    const options = [true, false].map((one) => ({ value: String(one), text: t(`record.is.${one}`) }));
    return <Select id={id} value={value === undefined ? '' : String(value)} options={options} choose={(one) => change(one === '' ? undefined : one === 'true')} />;
  }
  if (shape.type === 'number' || shape.type === 'integer') {
    const typed = (text: string): Value => (text === '' || !Number.isFinite(Number(text)) ? undefined : Number(text));
    return (
      <input
        id={id}
        type="number"
        step={shape.type === 'integer' ? 1 : 'any'}
        min={shape.minimum}
        max={shape.maximum}
        value={value === undefined ? '' : String(value)}
        onChange={(event) => change(typed(event.currentTarget.value))}
      />
    );
  }
  const text = { id, value: String(value ?? '') };
  if (shape.$ref?.endsWith('/text')) return <textarea {...text} rows={2} maxLength={8000} onInput={(event) => change(event.currentTarget.value)} />;
  if (shape.$ref?.endsWith('/date')) return <input {...text} type="date" onInput={(event) => change(event.currentTarget.value)} />;
  return <input {...text} type="text" maxLength={300} onInput={(event) => change(event.currentTarget.value)} />;
}

function Select({ id, value, options, choose }: { id: string; value: string; options: { value: string; text: string }[]; choose: (value: string) => void }) {
  return (
    <select id={id} value={value} onChange={(event) => choose(event.currentTarget.value)}>
      <option value="">{t('record.is.unknown')}</option>
      {options.map((one) => (
        <option key={one.value} value={one.value}>
          {one.text}
        </option>
      ))}
    </select>
  );
}
