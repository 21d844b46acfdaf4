/**
 * Stretches in which not even an idle set is fed: a contact is open, or the set has let go and not come back.
 */
import type { Seconds } from "../units.ts";
import type { KeyingSignal } from "./keying.ts";
import { median } from "./noise.ts";
import { openBelow } from "./signals.ts";

export interface InterruptionCase {
  readonly starts: Float64Array;
  readonly ends: Float64Array;
  readonly signals: readonly KeyingSignal[];
  readonly steps: readonly Float64Array[];
  /** 1 where found keyed */
  readonly keyed: Uint8Array;
  readonly loadVolts: Float64Array;
}

/** Idle levels are taken from stretches at least this long: shorter ones may be interruptions themselves. */
const standing: Seconds = 3;
const clear = 5;
/** Share of the idle level by which the level has to lie below it. */
const leastShare = 0.3;

/** 1 where interrupted, for each stretch. */
export function interruptions(given: InterruptionCase): Uint8Array {
  const found = new Uint8Array(given.keyed.length);
  const open = openBelow(given.loadVolts);
  for (let k = 0; k < found.length; k++) if (given.loadVolts[k]! < open) found[k] = 1;
  given.signals.forEach((signal, s) => {
    if (signal.idleShare === null) return;
    const idle = median(idleLevels(given, signal));
    for (let k = 0; k < found.length; k++) {
      const below = idle - signal.levels[k]!;
      const seen = given.steps[s]![k]! > clear * signal.uncertainty[k]!;
      if (seen && below > clear * signal.uncertainty[k]! && below > leastShare * Math.abs(idle)) found[k] = 1;
    }
  });
  return found;
}

function idleLevels({ starts, ends, keyed }: InterruptionCase, signal: KeyingSignal): Float64Array {
  return signal.levels.filter(
    (level, k) => keyed[k] === 0 && ends[k]! - starts[k]! >= standing && !Number.isNaN(level),
  );
}
