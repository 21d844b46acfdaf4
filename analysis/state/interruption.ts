/**
 * Stretches in which not even an idle set is fed: a contact is open, or the set has let go and not come back.
 */
import type { Seconds } from "../units.ts";
import type { KeyingSignal } from "./keying.ts";
import { openBelow } from "./signals.ts";

export interface InterruptionCase {
  readonly starts: Float64Array;
  readonly ends: Float64Array;
  readonly signals: readonly KeyingSignal[];
  readonly steps: readonly Float64Array[];
  /** 1 where found keyed */
  readonly keyed: Uint8Array;
  readonly loadVolts: Float64Array;
  /** stretches of one number share their idle level: charging and other loads shift a drop's */
  readonly regime: Uint8Array;
}

/** The idle level stands above this share of the time that was not keyed: interruptions lie below it. */
const highShare = 0.7;
const clear = 5;
/** Shares of the idle level by which the level has to lie below it: nothing flows, and nothing flows back. */
const leastShare = 0.4;
const mostShare = 1.4;

/** 1 where interrupted, for each stretch. */
export function interruptions(given: InterruptionCase): Uint8Array {
  const found = new Uint8Array(given.keyed.length);
  const open = openBelow(given.loadVolts);
  for (let k = 0; k < found.length; k++) if (given.loadVolts[k]! < open) found[k] = 1;
  given.signals.forEach((signal, s) => {
    if (signal.idleShare === null) return;
    for (const regime of new Set(given.regime)) {
      const idle = idleLevel(given, signal, regime);
      // Other currents on a shared way can turn a drop round: such an idle level is no measure.
      if (!(idle > 0)) continue;
      for (let k = 0; k < found.length; k++) {
        const below = idle - signal.levels[k]!;
        const seen = given.regime[k] === regime && given.steps[s]![k]! > clear * signal.uncertainty[k]!;
        if (seen && below > clear * signal.uncertainty[k]! && below > leastShare * idle && below < mostShare * idle)
          found[k] = 1;
      }
    }
  });
  return found;
}

/** A high share by time of the levels in one regime that were not keyed: an interruption is short beside a pause for breath. */
function idleLevel(
  { starts, ends, keyed, regime }: InterruptionCase,
  { levels }: KeyingSignal,
  wanted: number,
): number {
  const idle: { level: number; seconds: Seconds }[] = [];
  levels.forEach((level, k) => {
    const counts = regime[k] === wanted && keyed[k] === 0 && !Number.isNaN(level);
    if (counts) idle.push({ level, seconds: ends[k]! - starts[k]! });
  });
  idle.sort((a, b) => a.level - b.level);
  let left = idle.reduce((sum, each) => sum + each.seconds, 0) * highShare;
  for (const { level, seconds } of idle) {
    left -= seconds;
    if (left <= 0) return level;
  }
  return Number.NaN;
}
