/**
 * What the load draws keyed, for the fuses and wires that carry it: its plate, or a clamp that shows surely more.
 */
import type { Q, StateEntry } from "../../diagnosis.ts";
import type { Job } from "../../job/job.ts";
import type { Reading } from "../../reading/reading.ts";
import type { Amps } from "../../units.ts";
import { show } from "./check.ts";

export interface LoadAmps {
  /** surely drawn; both ends are the declared figure where that is what counts */
  readonly lowAmps: Amps;
  readonly highAmps: Amps;
  /** "11.5 A at transmit", and where the figure is from when it was measured */
  readonly words: string;
}

/**
 * A set may draw more than its plate says, and then its fuse and wires carry that. One that was seen to draw less may
 * yet be keyed harder: the plate stands. A meter that a pulsing set outruns shows less than flows, so that it cannot
 * stand in for a plate.
 * @param keyedAmps as read in the round, 95 % interval; null where no current was
 * @returns null where neither tells
 */
export function loadAmps({ load }: Job, keyedAmps: Q): LoadAmps | null {
  const declared = load.transmitAmps;
  if (declared === undefined) {
    if (keyedAmps === null || (load.emission ?? "fm") !== "fm") return null;
    return measuredAmps(keyedAmps, "where none is declared");
  }
  if (keyedAmps !== null && keyedAmps.low > declared)
    return measuredAmps(keyedAmps, `where ${show(declared)} A is declared`);
  return { lowAmps: declared, highAmps: declared, words: `${show(declared)} A at transmit` };
}

const measuredAmps = ({ value, low, high }: NonNullable<Q>, beside: string): LoadAmps => ({
  lowAmps: low,
  highAmps: high,
  words: `${show(value)} A at transmit as measured, ${show(low)} to ${show(high)} A, ${beside}`,
});

/** The keyed current where one was read, and the larger of the two where it was with the engine off and running. */
export function keyedAmpsRead(states: readonly StateEntry[], readings: readonly Reading[]): Q {
  const read = states.filter(
    ({ engine, radio, amps }) =>
      radio === "transmit" && amps !== null && readings.some((one) => tellsAmps(one, engine)),
  );
  return read.map(({ amps }) => amps!).toSorted((a, b) => b.value - a.value)[0] ?? null;
}

const tellsAmps = ({ place, radio, engine, drawnBy }: Reading, state: StateEntry["engine"]): boolean =>
  place.quantity === "amps" && radio === "transmit" && engine === state && drawnBy === "set";
