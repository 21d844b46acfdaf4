/**
 * How badly a stretch's level fits a state: keyed it stands about a keyed step over idle, for as long as one talks.
 * Costs are in natural-log units.
 */
import type { Seconds } from "../units.ts";
import type { CarriedCase } from "./keying-case.ts";
import { costs } from "./keying-costs.ts";

/** Keyed levels of one installation agree within this, as a natural-log ratio. */
const stepTolerance = 0.35;
/** A stretch this long tells its state in full. */
const tellingSeconds: Seconds = 0.5;
const shortestSeconds: Seconds = 0.8;
const longestSeconds: Seconds = 60;
/** Shares of the keyed step that speech shows. */
const leastVoice = 0.12;
const longestTone: Seconds = 5;
const mostVoice = 2.5;

/** A stretch taken as keyed against the level of the idle stretch that bounds the transmission; NaN where no signal was seen in both. */
export function keyedCost(given: CarriedCase, k: number, idle: number): number {
  if (given.fixed[k] === 1) return Number.POSITIVE_INFINITY;
  let cost = 0;
  let heard = false;
  for (let s = 0; s < given.signals.length; s++) {
    const { levels, begins, finishes, uncertainty, sight, wholeRun } = given.signals[s]!;
    const standing = idle === k - 1 ? begins : idle === k + 1 ? finishes : levels;
    const beside = (idle < k ? finishes : begins)[idle]!;
    const usual = given.idleLevels[s]!;
    // Nothing but keying lifts what is lost in the whole run: a level beside that lies lower is of two moments.
    const lowest = Number.isNaN(beside) || (wholeRun && beside < usual) ? usual : beside;
    const rise = standing[k]! - lowest;
    if (Number.isNaN(rise)) continue;
    const step = given.steps[s]![k]!;
    if (!(step > 0)) continue;
    // The charging moved these: how they stand to the time before it says nothing of keying.
    const charged = (sight === "battery" || sight === "load") && given.regime[k] !== given.regime[idle];
    if (charged && !given.pulsed && Math.abs(rise) > mostVoice * step) continue;
    const u = Math.hypot(uncertainty[k]!, uncertainty[idle]!);
    const blur = Math.hypot(stepTolerance, (2 * u) / step);
    const misfit = rise > 0 ? Math.log(rise / step) / blur : Number.POSITIVE_INFINITY;
    heard = true;
    // Too much else moves the battery: there a level between is no speech.
    if (given.pulsed && sight !== "battery" && rise > Math.max(leastVoice * step, 3 * u) && rise < mostVoice * step) {
      const stands = given.ends[k]! - given.starts[k]! > longestTone;
      cost += stands ? costs.tone : costs.voice;
      continue;
    }
    const most = rise > step && sight !== "battery" ? costs.shifted : rise > 0.3 * step ? costs.misfit : costs.noRise;
    cost += weightOf(given, k, s) * Math.min(most, misfit ** 2 / 2);
  }
  return heard ? cost : Number.NaN;
}

/** A stretch that is but a moment says little of its state: levels pass through many on their way. */
function weightOf({ starts, ends, signals }: CarriedCase, k: number, s: number): number {
  return Math.min(1, (ends[k]! - starts[k]!) / Math.max(signals[s]!.intervalSeconds, tellingSeconds));
}

export function idleCost(given: CarriedCase, k: number): number {
  if (given.fixed[k] === 2) return Number.POSITIVE_INFINITY;
  let cost = 0;
  for (let s = 0; s < given.signals.length; s++) {
    const { idleShare, levels, sight, expected } = given.signals[s]!;
    const step = given.steps[s]![k]!;
    if (idleShare === null || Number.isNaN(levels[k]!) || !(step > 0)) continue;
    const most = sight === "current" && expected !== null ? costs.idleAmps : costs.idleLevel;
    cost += weightOf(given, k, s) * Math.min(most, ((levels[k]! / step - idleShare) / 0.4) ** 2 / 2);
  }
  return cost;
}

/** Longest that a step train can have lasted: it began after the sample before and ended before the sample after. */
export function durationCost(given: CarriedCase, first: number, last: number): number {
  const seconds = given.ends[last]! - given.starts[first]!;
  if (seconds < shortestSeconds) return costs.transmission + costs.tooShort;
  if (seconds > longestSeconds) return costs.transmission + 2 * Math.log(seconds / longestSeconds);
  return costs.transmission;
}
