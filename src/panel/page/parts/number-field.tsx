// A number with two large buttons beside it: for wet fingers on a small screen. Comma and point both serve.
import { useId, useState } from 'preact/hooks';
import { preferences } from '../state/preferences.ts';
import { t } from '../texts.ts';

export function NumberField(props: {
  readonly label: string;
  readonly unit: string;
  /** Null: the field is empty, and nothing moves it but a number that somebody types. */
  readonly value: number | null;
  readonly step: number;
  readonly digits: number;
  readonly least?: number;
  readonly most?: number;
  /** Null while what stands there is no number in range. */
  readonly onValue: (value: number | null) => void;
}) {
  const { label, unit, value, step, digits, least = 0, most = 1e6, onValue } = props;
  const id = useId();
  const written = (of: number) => {
    const text = of.toFixed(digits);
    return preferences.value.language === 'de' ? text.replace('.', ',') : text;
  };
  const [text, setText] = useState(() => (value === null ? '' : written(value)));
  const read = readNumber(text);
  const isBad = text !== '' && (read === null || read < least || read > most);
  const put = (next: string) => {
    setText(next);
    const found = readNumber(next);
    onValue(found === null || found < least || found > most ? null : found);
  };
  const move = (by: number) => {
    const from = read ?? value;
    if (from !== null) put(written(Math.min(most, Math.max(least, from + by))));
  };
  return (
    <div class="number-field">
      <label for={id}>
        {label} <span class="limit">({unit})</span>
      </label>
      <div class="number-row">
        <button
          type="button"
          class="button step"
          aria-label={t('field.less', { what: label })}
          onClick={() => move(-step)}
        >
          &minus;
        </button>
        <input
          id={id}
          type="text"
          inputMode="decimal"
          autocomplete="off"
          value={text}
          aria-invalid={isBad}
          aria-describedby={isBad ? `${id}-bad` : undefined}
          onInput={(event) => put(event.currentTarget.value)}
        />
        <button
          type="button"
          class="button step"
          aria-label={t('field.more', { what: label })}
          onClick={() => move(step)}
        >
          +
        </button>
      </div>
      {isBad ? (
        <p class="bad" id={`${id}-bad`}>
          {t('field.range', { least: written(least), most: written(most) })}
        </p>
      ) : null}
    </div>
  );
}

export function readNumber(text: string): number | null {
  const plain = text.trim().replace(',', '.');
  return /^-?\d+(?:\.\d+)?$/u.test(plain) ? Number(plain) : null;
}

/** A choice of a few, each large enough to hit. */
export function Choice<T extends string>(props: {
  readonly label: string;
  readonly options: readonly { readonly value: T; readonly label: string }[];
  readonly value: T;
  readonly onValue: (value: T) => void;
}) {
  const { label, options, value, onValue } = props;
  const name = useId();
  return (
    <fieldset class="choice">
      <legend>{label}</legend>
      {options.map((option) => (
        <label key={option.value}>
          <input
            type="radio"
            name={name}
            checked={option.value === value}
            onChange={() => onValue(option.value)}
          />
          <span>{option.label}</span>
        </label>
      ))}
    </fieldset>
  );
}
