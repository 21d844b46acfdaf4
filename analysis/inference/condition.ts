/**
 * A condition: everything that decides which currents flow. Readings of one condition share one solved circuit.
 */
import type { EngineState, RadioState } from "../job/job.ts";
import type { Reading } from "../reading/reading.ts";

export interface Condition {
  readonly engine: EngineState | null;
  readonly radio: RadioState;
  readonly drawnBy: "set" | "test-load";
  readonly bypassed: readonly string[];
  readonly disturbed: boolean;
}

export function conditionOf(reading: Reading): Condition {
  const { engine, radio, drawnBy, bypassed, disturbed } = reading;
  return { engine, radio, drawnBy, bypassed, disturbed };
}

/** The plain condition: the set itself, nothing bypassed, no contact shifted. */
export const plainCondition = (engine: EngineState | null, radio: RadioState): Condition => ({
  engine,
  radio,
  drawnBy: "set",
  bypassed: [],
  disturbed: false,
});

const keyOf = (condition: Condition): string => JSON.stringify(Object.values(condition));

/** Numbers conditions as they come, so that equal ones share a number. */
export function conditionIndex(): { readonly list: Condition[]; indexOf(condition: Condition): number } {
  const list: Condition[] = [];
  const known = new Map<string, number>();
  return {
    list,
    indexOf(condition) {
      const key = keyOf(condition);
      const index = known.get(key) ?? known.set(key, list.length).size - 1;
      if (index === list.length) list.push(condition);
      return index;
    },
  };
}
