/**
 * A drop that leaps once for a moment while the set was keyed again and again: a starter's current in the strap that it shares.
 */
import type { Seconds } from "../units.ts";
import type { RecordingStates } from "./plateau.ts";

/** A crank is over by then; common practice. */
const longestPulse: Seconds = 3;
/** So many transmissions of another log pass no drop unseen but that of a part which loses next to nothing. */
const fewestKeyed = 3;
/** Logs taken together last much the same. */
const alikeLength = 0.7;

/**
 * The log without its one pulse as a transmission: when it was keyed is then not known.
 * @param others logs taken at the same time
 */
export function withoutLonePulse(states: RecordingStates, others: readonly RecordingStates[]): RecordingStates {
  const keyed = states.plateaus.filter(({ radio }) => radio === "transmit");
  const pulse = keyed.reduce((sum, { startSeconds, endSeconds }) => sum + endSeconds - startSeconds, 0);
  if (transmissions(states) !== 1 || pulse > longestPulse) return states;
  const [shortest, longest] = [alikeLength * lengthOf(states), lengthOf(states) / alikeLength];
  const often = others.some(
    (other) => transmissions(other) >= fewestKeyed && lengthOf(other) > shortest && lengthOf(other) < longest,
  );
  if (!often) return states;
  return {
    ...states,
    plateaus: states.plateaus.map((plateau) => ({ ...plateau, radio: null, disturbance: null })),
    events: states.events.filter(({ kind }) => kind === "engine-start" || kind === "engine-stop"),
  };
}

const transmissions = ({ events }: RecordingStates): number => events.filter(({ kind }) => kind === "keyed").length;

const lengthOf = ({ plateaus }: RecordingStates): Seconds =>
  plateaus.length > 0 ? plateaus.at(-1)!.endSeconds - plateaus[0]!.startSeconds : 0;
