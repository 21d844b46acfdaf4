/** Fields of a form: label above, unit beside, what is wrong below. What is typed stays as typed, right or wrong. */
import { useId, useState } from "preact/hooks";
import { edit, openJob } from "../job/open-job.ts";
import { rounded } from "../job/wire-size.ts";

export interface EntryFieldProps {
  readonly label: string;
  readonly unit?: string;
  /** field of the job; a text that is no value waits there */
  readonly path: string;
  /** the value as it would be written */
  readonly text: string;
  /** what is wrong with a text, in a sentence; null where it is fine */
  readonly check: (text: string) => string | null;
  /** takes a text that is fine */
  readonly apply: (text: string) => void;
  readonly hint?: string;
  readonly numeric?: boolean;
}

export function EntryField({ label, unit, path, text, check, apply, hint, numeric = true }: EntryFieldProps) {
  const id = useId();
  const [typing, setTyping] = useState<string | null>(null);
  const draft = openJob.value?.drafts[path];
  const wrong = draft === undefined ? null : check(draft);
  const typed = (next: string) => {
    setTyping(next);
    const fine = check(next) === null;
    if (fine) apply(next);
    keepDraft(path, fine ? undefined : next);
  };
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <span class="field-box">
        <input
          id={id}
          inputMode={numeric ? "decimal" : "text"}
          autoComplete="off"
          value={typing ?? draft ?? text}
          aria-invalid={wrong !== null}
          aria-describedby={`${id}-note`}
          onInput={(event) => typed(event.currentTarget.value)}
          onBlur={() => setTyping(null)}
        />
        {unit && <span class="unit">{unit}</span>}
      </span>
      <span class="field-note" id={`${id}-note`} role={wrong ? "alert" : undefined} data-wrong={wrong !== null}>
        {wrong ?? hint}
      </span>
    </div>
  );
}

export interface NumberFieldProps {
  readonly label: string;
  readonly unit?: string;
  readonly path: string;
  readonly value: number | undefined;
  readonly onValue: (value: number | undefined) => void;
  readonly least?: number;
  readonly most?: number;
  readonly needed?: boolean;
  readonly hint?: string;
}

export function NumberField(props: NumberFieldProps) {
  const { label, unit, path, value, onValue, hint } = props;
  return (
    <EntryField
      label={label}
      unit={unit}
      path={path}
      hint={hint}
      text={value === undefined ? "" : rounded(value)}
      check={(text) => complaint(text, props)}
      apply={(text) => onValue(parseNumber(text) ?? undefined)}
    />
  );
}

function keepDraft(path: string, text: string | undefined): void {
  if (openJob.value?.drafts[path] === text) return;
  edit((draft) => {
    if (text === undefined) delete draft.drafts[path];
    else draft.drafts[path] = text;
  });
}

/** A number with a point or a comma; null where there is none. */
export function parseNumber(text: string): number | null {
  const plain = text.trim().replace("\u2212", "-").replace(",", ".");
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : null;
}

function complaint(text: string, { label, unit, least, most, needed }: NumberFieldProps): string | null {
  if (text.trim() === "") return needed ? `${label}: should be a number; this field is empty.` : null;
  const number = parseNumber(text);
  const range = [least === undefined ? "" : `from ${least}`, most === undefined ? "" : `up to ${most}`]
    .filter(Boolean)
    .join(" ");
  const wanted = `should be a number${range ? ` ${range}` : ""}${unit ? ` ${unit}` : ""}`;
  if (number === null) return `${label}: ${wanted}; got “${text}”.`;
  if ((least !== undefined && number < least) || (most !== undefined && number > most))
    return `${label}: ${wanted}; got ${number}.`;
  return null;
}

export function TextField(props: {
  label: string;
  value: string | undefined;
  onValue: (value: string) => void;
  hint?: string;
  long?: boolean;
  list?: readonly string[];
}) {
  const id = useId();
  const { label, value = "", onValue, hint, long, list } = props;
  return (
    <div class="field">
      <label for={id}>{label}</label>
      {long ? (
        <textarea id={id} rows={3} value={value} onInput={(event) => onValue(event.currentTarget.value)} />
      ) : (
        <input
          id={id}
          value={value}
          autoComplete="off"
          list={list ? `${id}-list` : undefined}
          aria-describedby={hint ? `${id}-note` : undefined}
          onInput={(event) => onValue(event.currentTarget.value)}
        />
      )}
      {list && (
        <datalist id={`${id}-list`}>
          {list.map((entry) => (
            <option key={entry} value={entry} />
          ))}
        </datalist>
      )}
      {hint && (
        <span class="field-note" id={`${id}-note`}>
          {hint}
        </span>
      )}
    </div>
  );
}

export type Choice = readonly [value: string, words: string];

export function ChoiceField(props: {
  label: string;
  value: string;
  choices: readonly Choice[];
  onValue: (value: string) => void;
}) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{props.label}</label>
      <select id={id} value={props.value} onChange={(event) => props.onValue(event.currentTarget.value)}>
        {props.choices.map(([value, words]) => (
          <option key={value} value={value}>
            {words}
          </option>
        ))}
      </select>
    </div>
  );
}

/** A choice of few, each a target of its own. */
export function Segments(props: {
  label: string;
  value: string;
  choices: readonly Choice[];
  onValue: (value: string) => void;
}) {
  const name = useId();
  return (
    <fieldset class="segments">
      <legend>{props.label}</legend>
      <div>
        {props.choices.map(([value, words]) => (
          <label key={value}>
            <input
              type="radio"
              name={name}
              value={value}
              checked={props.value === value}
              onChange={() => props.onValue(value)}
            />
            <span>{words}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}
