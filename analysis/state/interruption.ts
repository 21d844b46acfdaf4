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
  const signals = given.signals.map(withoutOpen);
  for (let k = 0; k < found.length; k++) {
    if (signals.some(({ overRange }, s) => overRange[k] === 1 && given.steps[s]![k]! > 0)) found[k] = 1;
    if (given.keyed[k] === 0 && isUnfed(given, signals, k)) found[k] = 1;
  }
  return found;
}

/** Whether less flows than an idle set draws: a clamp tells best, then drops, which other loads may share, then the volts gained. */
function isUnfed(given: InterruptionCase, signals: readonly KeyingSignal[], k: number): boolean {
  const ranks = [
    ({ sight }: KeyingSignal) => sight === "current",
    ({ sight, wholeRun }: KeyingSignal) => sight === "drop" && !wholeRun,
    ({ sight, wholeRun }: KeyingSignal) => sight === "load" || wholeRun,
  ];
  for (const belongs of ranks) {
    const said = signals.flatMap((signal, s) =>
      belongs(signal) ? [fedAs(given, signal, given.steps[s]![k]!, k)] : [],
    );
    if (said.includes("idle")) return false;
    if (said.includes("unfed")) return true;
  }
  return false;
}

/** How a signal shows the set fed in stretch k, its level or what it gained over idle told; null where it does not tell. */
function fedAs(given: InterruptionCase, signal: KeyingSignal, step: number, k: number): "unfed" | "idle" | null {
  const least = clear * signal.uncertainty[k]!;
  if (!(step > least)) return null;
  const byLevel = signal.idleShare !== null;
  // Volts across the load rise as well when another load goes off, and then for long.
  if (signal.sight === "load" && given.ends[k]! - given.starts[k]! > mostUnfed) return null;
  const level = idleLevel(given, signal, k);
  const idle = byLevel ? level : signal.restShare * step;
  const below = level - signal.levels[k]!;
  // Other currents on a shared way can turn a drop round: such an idle level is no measure.
  if (!(idle > 0) || Number.isNaN(below)) return null;
  const falls = below > least && below > leastShare * idle && below < mostShare * idle;
  if (falls && below < signal.mostRestShare * step) return "unfed";
  return byLevel && leastShare * idle > least && Math.abs(below) < leastShare * idle ? "idle" : null;
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
