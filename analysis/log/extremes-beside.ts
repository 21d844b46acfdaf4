/**
 * The columns that hold the least and the greatest of the interval for which a value stands.
 */
import type { Layout } from "./layout.ts";
import type { StatedUnits } from "./stated-units.ts";

export interface ExtremeColumns {
  readonly lowestColumn: number | null;
  readonly highestColumn: number | null;
}

/** Minimum and maximum columns beside a value: those up to the next plain value column, of the same quantity. */
export function extremesBeside({ columns, header }: Layout, column: number, units: StatedUnits): ExtremeColumns {
  const values = columns.flatMap((_, k) =>
    header?.[k]?.role === "value" && units.measures(k) === units.measures(column) ? [k] : [],
  );
  const alone = values.length <= 1;
  const end = values.find((k) => k > column) ?? columns.length;
  const of = (role: string): number | null => {
    const found = columns.findIndex(
      (kind, k) =>
        kind === "number" && k !== column && header?.[k]?.role === role && (alone || (k > column && k < end)),
    );
    return found >= 0 && units.measures(found) !== "other" ? found : null;
  };
  return { lowestColumn: of("lowest"), highestColumn: of("highest") };
}
