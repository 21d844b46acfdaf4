/**
 * When the set was keyed: the way through the stretches, idle or transmitting, that explains the levels best.
 * A transmission rises from the level before it, stands about as high as the others, and falls back; what does neither is another load.
 */
import type { Seconds } from "../units.ts";
import { atOnce, type KeyingSignal } from "./keying-signal.ts";

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

export interface Keying {
  /** 1 where transmitting */
  readonly keyed: Uint8Array;
  readonly cost: number;
}

/** Costs are in natural-log units (half a chi square); all by judgement, held to what the bench shows. */
const costs = {
  /** a step that is no keying: another load, the engine, the charging */
  otherStep: 6,
  /** a stretch taken as keyed whose level does not fit */
  misfit: 8,
  /** the same where it does not stand out at all */
  noRise: 16,
  /** the same where it stands higher: a contact may have given way */
  shifted: 2,
  /** of a set whose current follows the voice: it stands out of the idle level */
  voice: 0.3,
  /** the same where it stands still for long */
  tone: 2,
  /** share of that which a step within a transmission costs, and one that looks like its end */
  innerStep: 0.25,
  innerEnd: 1.3,
  innerAgain: 0.8,
  transmission: 1.5,
  /** nothing that tells was seen of a transmission */
  unheard: 20,
  tooShort: 2,
  cutOff: 1.5,
  /** an idle level as high as a keyed one */
  idleLevel: 2,
  /** the same of a clamp, where the load's currents are declared */
  idleAmps: 8,
  /** a transmission that begins or ends slowly */
  slow: 5,
} as const;
/** Share of what a step costs that it costs more for each further signal that it moves. */
const seenAlike = 0.3;
/** Shares of the keyed step between which it happens at once: a battery gives way for a while after. */
const leastJump = 0.5;
const mostJump = 1.4;
const jumpTolerance = 0.12;
/** Keyed levels of one installation agree within this, as a natural-log ratio. */
const stepTolerance = 0.35;
const sameStep = 0.25;
const returnTolerance = 0.4;
const sagTolerance = 0.9;
/** A stretch this long tells its state in full. */
const tellingSeconds: Seconds = 0.5;
const shortestSeconds: Seconds = 0.8;
const longestSeconds: Seconds = 60;
/** Shares of the keyed step that speech shows. */
const leastVoice = 0.12;
const longestTone: Seconds = 5;
const mostVoice = 2.5;
/** Share of what a step within a transmission costs that one of speech does. */
const voiceStep = 0.1;
/** A transmission that costs so much for each signal is none, however long it is made. */
const hopeless = 60;
/** A transmission reaches over at most so many stretches. */
const widest = 400;

/** The cheapest way through the stretches. */
export function decodeKeying(asked: KeyingCase): Keying {
  const given = carried(asked);
  const n = given.starts.length;
  const best = new Float64Array(n + 1).fill(Number.POSITIVE_INFINITY);
  const before = new Int32Array(n + 1).fill(-2);
  const offer = (to: number, from: number, cost: number) => {
    if (cost >= best[to]!) return;
    best[to] = cost;
    before[to] = from;
  };
  startTransmitting(given, offer);
  for (let i = 0; i < n; i++) {
    if (best[i] === Number.POSITIVE_INFINITY) continue;
    let inside = 0;
    let heard = false;
    if (i + 1 === n) offer(n, i, best[i]!);
    for (let j = i + 1; j <= n && j - i <= widest; j++) {
      const ending = j === n;
      if (j === i + 1) {
        if (!ending) offer(j, i, best[i]! + idleCost(given, j) + otherStepCost(given, i, j));
      } else {
        const end = ending ? costs.cutOff : idleCost(given, j) + returnCost(given, i, j) + jumpCost(given, j, -1);
        offer(
          j,
          i,
          best[i]! +
            inside +
            jumpCost(given, i + 1, 1) +
            durationCost(given, i + 1, j - 1) +
            end +
            (heard ? 0 : costs.unheard),
        );
      }
      if (ending) continue;
      const cost = keyedCost(given, j, i);
      heard ||= !Number.isNaN(cost);
      inside += (Number.isNaN(cost) ? 0 : cost) + (j > i + 1 ? innerStepCost(given, i, j) : 0);
      if (inside > hopeless * given.signals.length) break;
    }
  }
  return { keyed: traceBack(before, n), cost: best[n]! };
}

/** A signal with the level at which it was last seen in stretches in which it is not. */
interface CarriedSignal extends Omit<KeyingSignal, "across" | "run" | "overRange" | "restShare"> {
  readonly lastSeen: Float64Array;
}
type CarriedCase = Omit<KeyingCase, "signals"> & { readonly signals: readonly CarriedSignal[] };

/** Field by field, so that cases and signals are all of one shape, wherever they come from: an engine then compiles what follows once. */
function carried({ starts, ends, signals, steps, scales, idleLevels, fixed, regime, pulsed }: KeyingCase): CarriedCase {
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

function startTransmitting(given: CarriedCase, offer: (to: number, from: number, cost: number) => void): void {
  const n = given.starts.length;
  offer(0, -1, idleCost(given, 0));
  for (let j = 1; j < n && j <= 60; j++) {
    let inside = costs.cutOff + durationCost(given, 0, j - 1);
    let heard = false;
    for (let k = 0; k < j; k++) {
      const cost = keyedCost(given, k, j);
      heard ||= !Number.isNaN(cost);
      inside += (Number.isNaN(cost) ? 0 : cost) + (k > 0 ? innerStepCost(given, j, k) : 0);
    }
    offer(j, -1, inside + idleCost(given, j) + jumpCost(given, j, -1) + (heard ? 0 : costs.unheard));
  }
}

function traceBack(before: Int32Array, n: number): Uint8Array {
  const keyed = new Uint8Array(n);
  let at = n;
  while (at >= 0 && before[at]! >= -1) {
    const from = before[at]!;
    for (let k = from + 1; k < at; k++) keyed[k] = 1;
    at = from;
  }
  return keyed;
}

/** A stretch taken as keyed against the level of the idle stretch that bounds the transmission; NaN where no signal was seen in both. */
function keyedCost(given: CarriedCase, k: number, idle: number): number {
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

function idleCost(given: CarriedCase, k: number): number {
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

/** Another load is one cause however many signals it moves: battery and clamp see it alike, and say so but once. */
function otherStepCost(given: CarriedCase, i: number, j: number): number {
  let most = 0;
  let sum = 0;
  for (let s = 0; s < given.signals.length; s++) {
    const { begins, lastSeen, uncertainty } = given.signals[s]!;
    const step = atOnce(given.signals[s]!, j, Math.abs(begins[j]! - lastSeen[i]!));
    if (Number.isNaN(step)) continue;
    const full = Math.max(4 * Math.hypot(uncertainty[i]!, uncertainty[j]!), 0.3 * given.scales[s]!);
    const share = Math.min(1, (step / full) ** 2);
    most = Math.max(most, share);
    sum += share;
  }
  return costs.otherStep * (most + seenAlike * (sum - most));
}

/** A step within a transmission: a contact may shift, but what falls by half and stays low is its end. */
function innerStepCost(given: CarriedCase, idle: number, j: number): number {
  let cost = 0;
  for (let s = 0; s < given.signals.length; s++) {
    const { begins, finishes, lastSeen, uncertainty, sight } = given.signals[s]!;
    const change = begins[j]! - lastSeen[j - 1]!;
    if (Number.isNaN(change)) continue;
    const step = given.steps[s]![j]!;
    const beside = (idle < j ? finishes : begins)[idle]!;
    const height = begins[j]! - (Number.isNaN(beside) ? given.idleLevels[s]! : beside);
    const ends = step > 0 && change < -0.5 * step && height < 0.8 * step;
    // What steps up and down by a keyed step above another keyed step is another load below a transmission.
    const again = step > 0 && Math.abs(Math.abs(change) / step - 1) < sameStep && height > 0.7 * step;
    const full = Math.max(4 * Math.hypot(uncertainty[j]!, uncertainty[j - 1]!), 0.3 * given.scales[s]!);
    const weight =
      given.pulsed && sight !== "battery"
        ? voiceStep * costs.innerStep
        : ends
          ? costs.innerEnd
          : again
            ? costs.innerAgain
            : costs.innerStep;
    cost += weight * costs.otherStep * Math.min(1, (atOnce(given.signals[s]!, j, Math.abs(change)) / full) ** 2);
  }
  return cost;
}

/** Keying is a step: what a transmission begins or ends with that came slowly, or is no step of its size, is none. */
function jumpCost(given: CarriedCase, k: number, way: 1 | -1): number {
  let cost = 0;
  for (let s = 0; s < given.signals.length; s++) {
    const { levels, jumps, jumpUncertainty } = given.signals[s]!;
    const step = given.steps[s]![k]!;
    const u = jumpUncertainty[k]!;
    if (Number.isNaN(levels[k]!) || u === Number.POSITIVE_INFINITY || !(step > 0)) continue;
    const share = (way * jumps[k]!) / step;
    const off = share < leastJump ? leastJump - share : share > mostJump ? share - mostJump : 0;
    cost += Math.min(costs.slow, (off / Math.hypot(jumpTolerance, u / step)) ** 2 / 2);
  }
  return cost;
}

function returnCost(given: CarriedCase, i: number, j: number): number {
  let cost = 0;
  for (let s = 0; s < given.signals.length; s++) {
    const { begins, finishes, uncertainty } = given.signals[s]!;
    const change = begins[j]! - finishes[i]!;
    const step = given.steps[s]![j]!;
    if (Number.isNaN(change) || !(step > 0)) continue;
    // A battery that was drawn on comes back slowly: it may stand part of the way for a while.
    const tolerance = change > 0 ? sagTolerance : returnTolerance;
    const full = Math.max(4 * Math.hypot(uncertainty[i]!, uncertainty[j]!), tolerance * step);
    cost += costs.otherStep * Math.min(1, (change / full) ** 2);
  }
  return cost;
}

/** Longest that a step train can have lasted: it began after the sample before and ended before the sample after. */
function durationCost(given: CarriedCase, first: number, last: number): number {
  const seconds = given.ends[last]! - given.starts[first]!;
  if (seconds < shortestSeconds) return costs.transmission + costs.tooShort;
  if (seconds > longestSeconds) return costs.transmission + 2 * Math.log(seconds / longestSeconds);
  return costs.transmission;
}
