/** A starter's current in a strap is no keying. Figures are invented. */
import { expect, test } from "vitest";
import { withoutLonePulse } from "../../../analysis/state/lone-pulse.ts";
import type { Plateau, RecordingStates } from "../../../analysis/state/plateau.ts";

const plateau = (startSeconds: number, endSeconds: number, radio: Plateau["radio"], value: number): Plateau => ({
  startSeconds,
  endSeconds,
  engine: null,
  radio,
  value,
  uncertainty: 0.0005,
  samples: 10,
  drift: 0,
  disturbance: null,
});

/** Idle but for the given transmissions, in a log of so many seconds. */
function statesOf(keyed: readonly (readonly [number, number])[], seconds: number): RecordingStates {
  const edges = [0, ...keyed.flat(), seconds];
  const plateaus = edges
    .slice(0, -1)
    .map((start, k) => plateau(start, edges[k + 1]!, k % 2 === 0 ? "idle" : "transmit", k % 2 === 0 ? 0.002 : 0.19));
  const events = keyed.flatMap(([start, end]) => [
    { kind: "keyed" as const, seconds: start },
    { kind: "released" as const, seconds: end },
  ]);
  return { plateaus, events, offsetSeconds: null, offsetUncertaintySeconds: null, driftPpm: null, warnings: [] };
}

const often = statesOf(
  [
    [20, 26],
    [37, 46],
    [83, 94],
  ],
  155,
);
const pulse = statesOf([[62, 64]], 154);
const radios = ({ plateaus }: RecordingStates) => [...new Set(plateaus.map(({ radio }) => radio))];

test("one pulse of two seconds, while the set was keyed three times, leaves open when that was", () => {
  const found = withoutLonePulse(pulse, [often]);
  expect(radios(found)).toEqual([null]);
  expect(found.events).toEqual([]);
  expect(found.plateaus.map(({ value }) => value)).toEqual(pulse.plateaus.map(({ value }) => value));
});

test.each([
  ["lasts as a transmission does", statesOf([[62, 70]], 154), [often]],
  [
    "comes again",
    statesOf(
      [
        [62, 64],
        [90, 92],
      ],
      154,
    ),
    [often],
  ],
  ["is of a log that was cut short", statesOf([[12, 14]], 40), [often]],
  ["stands beside logs keyed as seldom", pulse, [statesOf([[62, 64]], 154)]],
  ["stands alone", pulse, []],
])("a pulse that %s stays a transmission", (_, states, others) => {
  expect(withoutLonePulse(states, others)).toBe(states);
});
