/** Two versions of a job as a list of what differs, in words: one line a field, a list's entries one by one. */
export interface Difference {
  readonly what: string;
  readonly here: string;
  readonly there: string;
}

const nothing = "nothing";
const charactersAtMost = 160;

/** @param here @param there jobs as they travel */
export function differences(here: string, there: string): Difference[] {
  return [...between(JSON.parse(here), JSON.parse(there), "")];
}

function* between(here: unknown, there: unknown, what: string): Generator<Difference> {
  if (JSON.stringify(here) === JSON.stringify(there)) return;
  if (isPlain(here) && isPlain(there)) {
    for (const key of new Set([...Object.keys(here), ...Object.keys(there)])) {
      yield* between(here[key], there[key], what ? `${what}, ${spelled(key)}` : spelled(key));
    }
  } else if (Array.isArray(here) && Array.isArray(there)) {
    const length = Math.max(here.length, there.length);
    for (let place = 0; place < length; place++) {
      yield* between(here[place], there[place], `${what} ${place + 1}`);
    }
  } else yield { what, here: shown(here), there: shown(there) };
}

const isPlain = (value: unknown): value is Record<string, unknown> =>
  typeof value === "object" && value !== null && !Array.isArray(value);

/** @example spelled("transmitAmps") // "transmit amps" */
const spelled = (key: string): string => key.replaceAll(/(?<=[a-z])[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);

function shown(value: unknown): string {
  if (value === undefined || value === "") return nothing;
  if (typeof value !== "object" || value === null) return String(value).slice(0, charactersAtMost);
  const fields = Object.entries(value).map(([key, inner]) =>
    typeof inner === "object" ? spelled(key) : `${spelled(key)} ${inner}`,
  );
  return fields.join(", ").slice(0, charactersAtMost) || nothing;
}
