/**
 * Stretches in which not even an idle set is fed: a contact is open, or the set has let go and not come back.
 */
import type { Seconds, Volts } from "../units.ts";
import type { KeyingSignal } from "./keying-signal.ts";
import { rankedByTime } from "./ranked-by-time.ts";
import { openBelow, withoutOpen } from "./signals.ts";

export interface InterruptionCase {
  readonly starts: Float64Array;
  readonly ends: Float64Array;
  readonly signals: readonly KeyingSignal[];
  readonly steps: readonly Float64Array[];
  /** 1 where found keyed */
  readonly keyed: Uint8Array;
  readonly loadVolts: Float64Array;
}

/** Idle levels are looked for so near, in stretches at least so long. */
const besideSeconds: Seconds = 45;
const standing: Seconds = 2;
const clear = 5;
/** Shares of the idle level by which the level has to lie below it: nothing flows, and nothing flows back. */
const leastShare = 0.4;
const mostShare = 1.4;
/** Common practice: a set that let go is back within so long. */
const mostUnfed: Seconds = 4;
/** Share of a keyed step, and volts, by which a drop stands over its keyed level where a contact has given way. */
const starvedShare = 0.5;
const starvedVolts: Volts = 0.3;

/** 1 where interrupted, for each stretch. */
export function interruptions(given: InterruptionCase): Uint8Array {
  const found = new Uint8Array(given.keyed.length);
  const open = openBelow(given.loadVolts);
  for (let k = 0; k < found.length; k++) if (given.loadVolts[k]! < open || isStarved(given, k)) found[k] = 1;
  given.signals.map(withoutOpen).forEach((signal, s) => {
    for (let k = 0; k < found.length; k++) {
      if (signal.overRange[k] === 1 && given.steps[s]![k]! > 0) found[k] = 1;
      if (given.keyed[k] === 0 && isUnfed(given, signal, s, k)) found[k] = 1;
    }
  });
  return found;
}

/** Whether less flows than an idle set draws: its own level tells it of a clamp or a drop, the volts gained of the others. */
function isUnfed(given: InterruptionCase, signal: KeyingSignal, s: number, k: number): boolean {
  const step = given.steps[s]![k]!;
  if (!(step > clear * signal.uncertainty[k]!) || signal.sight === "battery") return false;
  // Volts across the load rise as well when another load goes off, and then for long.
  if (signal.sight === "load" && given.ends[k]! - given.starts[k]! > mostUnfed) return false;
  const level = idleLevel(given, signal, k);
  const idle = signal.idleShare === null ? signal.restShare * step : level;
  // Other currents on a shared way can turn a drop round: such an idle level is no measure.
  if (!(idle > 0)) return false;
  const below = level - signal.levels[k]!;
  return below > clear * signal.uncertainty[k]! && below > leastShare * idle && below < mostShare * idle;
}

/** Between battery and load more volts are lost than while keyed: nobody lets go of a key and starves the set by it. */
function isStarved({ keyed, signals, steps }: InterruptionCase, k: number): boolean {
  if (keyed[k] === 1) return false;
  return signals.some((signal, s) => {
    const step = steps[s]![k]!;
    const seesRun = signal.sight === "drop" || signal.sight === "load";
    if (!seesRun || !(step > clear * signal.uncertainty[k]!)) return false;
    const before = keyedBeside(keyed, k);
    return before >= 0 && signal.levels[k]! - signal.levels[before]! > Math.max(starvedShare * step, starvedVolts);
  });
}

/** The last keyed stretch before k. */
function keyedBeside(keyed: Uint8Array, k: number): number {
  let at = k - 1;
  while (at >= 0 && keyed[at] === 0) at--;
  return at;
}

/**
 * The idle level beside stretch k: what the signal shows for most of the idle time on either side of it, and of these the
 * lower, so that no change of other loads counts, nor a filter that is still on its way.
 */
function idleLevel(given: InterruptionCase, signal: KeyingSignal, k: number): number {
  const sides = [usual(given, signal, k, -1), usual(given, signal, k, 1)].filter((level) => !Number.isNaN(level));
  return sides.length > 0 ? Math.min(...sides) : Number.NaN;
}

function usual({ starts, ends, keyed }: InterruptionCase, { levels }: KeyingSignal, k: number, way: 1 | -1): number {
  const idle: { height: number; seconds: Seconds }[] = [];
  for (let i = k + way; i >= 0 && i < levels.length && Math.abs(starts[i]! - starts[k]!) < besideSeconds; i += way) {
    const seconds = ends[i]! - starts[i]!;
    if (keyed[i] === 0 && seconds >= standing && !Number.isNaN(levels[i]!)) idle.push({ height: levels[i]!, seconds });
  }
  return idle.length > 0 ? rankedByTime(idle, 0.5) : Number.NaN;
}
