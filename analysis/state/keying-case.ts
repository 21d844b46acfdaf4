/**
 * The stretches of a group of logs among which keying is sought, and what is known of each signal meanwhile.
 */
import type { KeyingSignal } from "./keying-signal.ts";

export interface KeyingCase {
  readonly starts: Float64Array;
  readonly ends: Float64Array;
  readonly signals: readonly KeyingSignal[];
  /** for each signal its keyed step in each stretch */
  readonly steps: readonly Float64Array[];
  /** for each signal the size of a step that counts in full */
  readonly scales: readonly number[];
  /** for each signal its level where idle, for stretches beside which it was not seen; NaN where not known */
  readonly idleLevels: readonly number[];
  /** 0 may be either, 1 idle for certain, 2 transmitting for certain */
  readonly fixed: Uint8Array;
  /** stretches of one number are charged alike */
  readonly regime: Uint8Array;
  /** current follows the voice or the code: while keyed it stands anywhere between little and the most */
  readonly pulsed: boolean;
}

/** A signal with the level at which it was last seen in stretches in which it is not. */
export interface CarriedSignal
  extends Omit<KeyingSignal, "across" | "run" | "overRange" | "restShare" | "mostRestShare"> {
  readonly lastSeen: Float64Array;
}
export type CarriedCase = Omit<KeyingCase, "signals"> & { readonly signals: readonly CarriedSignal[] };

/** Field by field, so that cases and signals are all of one shape, wherever they come from: an engine then compiles what follows once. */
export function carried({
  starts,
  ends,
  signals,
  steps,
  scales,
  idleLevels,
  fixed,
  regime,
  pulsed,
}: KeyingCase): CarriedCase {
  return { starts, ends, signals: signals.map(withCarried), steps, scales, idleLevels, fixed, regime, pulsed };
}

function withCarried({
  levels,
  begins,
  finishes,
  uncertainty,
  jumps,
  jumpUncertainty,
  sight,
  intervalSeconds,
  wholeRun,
  expected,
  idleShare,
}: KeyingSignal): CarriedSignal {
  const lastSeen = Float64Array.from(finishes);
  for (let k = 1; k < lastSeen.length; k++) if (Number.isNaN(lastSeen[k]!)) lastSeen[k] = lastSeen[k - 1]!;
  return {
    levels,
    begins,
    finishes,
    uncertainty,
    jumps,
    jumpUncertainty,
    sight,
    intervalSeconds,
    wholeRun,
    expected,
    idleShare,
    lastSeen,
  };
}
