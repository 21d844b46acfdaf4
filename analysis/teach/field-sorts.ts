/** Fields that say the same: only one of them need be tried. */
import type { Field } from "./range-search.ts";

/** Of fields that sort the frames alike the one with the cleanest cut. */
export function eachSortedOnce(all: readonly Field[]): Field[] {
  return onceBy(all, ({ sorting }) => sorting);
}

/** The same where states also count: of fields whose states also follow each other alike, counted in their own lowest bit. */
export function eachCountedOnce(all: readonly Field[]): Field[] {
  return onceBy(all, ({ sorting, values, living }) => {
    const lowest = living & -living;
    const steps = new Set([...values].map((value) => (value - values[0]!) / lowest));
    return `${sorting} ${[...steps].join()}`;
  });
}

function onceBy(all: readonly Field[], keyOf: (field: Field) => string): Field[] {
  const seen = new Set<string>();
  return all.filter((field) => {
    const key = keyOf(field);
    return !seen.has(key) && seen.add(key);
  });
}
