// A line of text with its name above it.
import { useId } from 'preact/hooks';

export function TextField(props: {
  readonly label: string;
  readonly value: string;
  readonly onValue: (value: string) => void;
}) {
  const { label, value, onValue } = props;
  const id = useId();
  return (
    <p class="field">
      <label for={id}>{label}</label>
      <input
        id={id}
        type="text"
        maxLength={100}
        autocomplete="off"
        value={value}
        onInput={(event) => onValue(event.currentTarget.value)}
      />
    </p>
  );
}
