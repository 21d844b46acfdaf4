/** Fields that say the same: only one of them need be tried. */
import type { Field } from "./range-search.ts";

/** Of fields that sort the frames alike the one with the cleanest cut. */
export function eachSortedOnce(all: readonly Field[]): Field[] {
  return onceBy(all, ({ sorting }) => sorting);
}

/** The same where states also count. */
export function eachCountedOnce(all: readonly Field[]): Field[] {
  return onceBy(all, ({ counting }) => counting);
}

function onceBy(all: readonly Field[], keyOf: (field: Field) => string): Field[] {
  const seen = new Set<string>();
  return all.filter((field) => {
    const key = keyOf(field);
    return !seen.has(key) && seen.add(key);
  });
}
