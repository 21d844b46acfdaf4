/** A number pad whose keys fit a glove. The display is a field: a real keyboard types into it as well. */
import { useId } from "preact/hooks";

const rows = [
  ["7", "8", "9"],
  ["4", "5", "6"],
  ["1", "2", "3"],
  ["±", "0", "."],
] as const;

export interface NumberPadProps {
  readonly label: string;
  readonly text: string;
  readonly unit: string;
  /** changes to the meter's other range; null where there is none */
  readonly onUnit: (() => void) | null;
  readonly onText: (text: string) => void;
  readonly onEnter: () => void;
}

export function NumberPad({ label, text, unit, onUnit, onText, onEnter }: NumberPadProps) {
  const id = useId();
  const press = (key: string) => {
    if (key === "±") onText(text.startsWith("-") ? text.slice(1) : `-${text}`);
    else if (key !== "." || !text.includes(".")) onText(text + key);
  };
  return (
    <div class="number-pad">
      <label for={id} class="out-of-sight">
        {label}
      </label>
      <div class="pad-display">
        <input
          id={id}
          inputMode="none"
          autoComplete="off"
          value={text}
          onInput={(event) => onText(event.currentTarget.value)}
          onKeyDown={(event) => event.key === "Enter" && onEnter()}
        />
        {onUnit ? (
          <button type="button" aria-label={`In ${unit}; change to ${unit === "V" ? "mV" : "V"}`} onClick={onUnit}>
            {unit}
          </button>
        ) : (
          <span>{unit}</span>
        )}
        <button
          type="button"
          class="plain"
          aria-label="Take back the last figure"
          onClick={() => onText(text.slice(0, -1))}
        >
          ⌫
        </button>
      </div>
      <div class="pad-keys">
        {rows.flat().map((key) => (
          <button
            key={key}
            type="button"
            aria-label={key === "±" ? "Minus or plus" : key === "." ? "Point" : key}
            onClick={() => press(key)}
          >
            {key}
          </button>
        ))}
      </div>
    </div>
  );
}
