/**
 * What happened while the key was held: the load let go and came back, or a contact opened or shifted.
 * Goes in: stretches found keyed, with how high each signal stood over its idle level. Comes out: one name for each disturbed stretch.
 */
import type { Seconds, Volts } from "../units.ts";
import { risesOf } from "./keyed-step.ts";
import type { KeyingSignal } from "./keying.ts";
import { median } from "./noise.ts";

export type Disturbance = "load-reset" | "contact-break" | null;

export interface DisturbanceCase {
  readonly starts: Float64Array;
  readonly ends: Float64Array;
  readonly signals: readonly KeyingSignal[];
  readonly steps: readonly Float64Array[];
  /** 1 where keyed; pauses of a transmission are filled in here */
  readonly keyed: Uint8Array;
  /** volts at the load, NaN where not seen, and the least it stands as declared */
  readonly loadVolts: Float64Array;
  readonly minimumVolts: Volts | null;
  /** current follows the voice or the code: pauses are speech, not resets */
  readonly pulsedEmission: boolean;
}

/** A pause up to this long within keying is no release, where nothing speaks against it; longer where the load's volts explain a reset. */
const pauseSeconds: Seconds = 1.6;
const resetPauseSeconds: Seconds = 5;
const speechPauseSeconds: Seconds = 3;
/** A set lets go near its declared minimum; so far above it no reset is believed. */
const nearMinimumVolts: Volts = 0.5;
const farAboveMinimumVolts: Volts = 1;
/** Share of the keyed step below which the current has gone, and above which a contact has given way. */
const gone = 0.5;
const shifted = 0.25;

/** Fills pauses that are part of a transmission into `keyed`; the stretches filled are returned. */
export function fillPauses(given: DisturbanceCase): Uint8Array {
  const filled = new Uint8Array(given.keyed.length);
  for (const pause of pausesOf(given)) {
    if (!belongs(given, pause)) continue;
    for (let k = pause.first; k <= pause.last; k++) {
      given.keyed[k] = 1;
      filled[k] = 1;
    }
  }
  return filled;
}

interface Pause {
  readonly first: number;
  readonly last: number;
  readonly seconds: Seconds;
  readonly burstSeconds: Seconds;
}

function pausesOf(given: DisturbanceCase): Pause[] {
  const { keyed, starts, ends } = given;
  const pauses: Pause[] = [];
  for (let k = 1; k < keyed.length; k++) {
    if (keyed[k] === 1 || keyed[k - 1] === 0) continue;
    let last = k;
    while (last + 1 < keyed.length && keyed[last + 1] === 0) last++;
    if (last + 1 === keyed.length) break;
    const burst = Math.min(runSeconds(given, k - 1, -1), runSeconds(given, last + 1, 1));
    pauses.push({ first: k, last, seconds: ends[last]! - starts[k]!, burstSeconds: burst });
    k = last;
  }
  return pauses;
}

function runSeconds({ keyed, starts, ends }: DisturbanceCase, from: number, way: 1 | -1): Seconds {
  let at = from;
  while (keyed[at + way] === 1) at += way;
  return way === 1 ? ends[at]! - starts[from]! : ends[from]! - starts[at]!;
}

function belongs(given: DisturbanceCase, pause: Pause): boolean {
  if (given.pulsedEmission && pause.seconds <= speechPauseSeconds) return true;
  const volts = given.loadVolts[pause.first - 1]!;
  const minimum = given.minimumVolts;
  const known = minimum !== null && !Number.isNaN(volts);
  if (known && volts < minimum + nearMinimumVolts) {
    return pause.seconds <= resetPauseSeconds && pause.seconds < 2 * pause.burstSeconds + 2;
  }
  if (known && volts > minimum + farAboveMinimumVolts) return pause.seconds < pauseSeconds / 2;
  return pause.seconds <= pauseSeconds || (pause.seconds <= 3 && pause.burstSeconds <= 2);
}

/** Names each keyed stretch that is off the level of the rest: the signal that moves most decides. */
export function disturbancesOf(given: DisturbanceCase, filled: Uint8Array): Disturbance[] {
  const n = given.keyed.length;
  const found: Disturbance[] = new Array(n).fill(null);
  const heights = given.signals.map((signal) => {
    const row = new Float64Array(n).fill(Number.NaN);
    for (const { k, height } of risesOf(signal, given.keyed)) row[k] = height;
    return row;
  });
  for (let k = 0; k < n; k++) {
    if (given.keyed[k] === 0) continue;
    const name = nameOf(given, heights, k);
    found[k] = given.pulsedEmission && name === "load-reset" ? null : (name ?? (filled[k] === 1 ? "load-reset" : null));
  }
  return found;
}

function nameOf(given: DisturbanceCase, heights: readonly Float64Array[], k: number): Disturbance {
  let collapsed = false;
  let current = false;
  for (let s = 0; s < heights.length; s++) {
    const step = given.steps[s]![k]!;
    const height = heights[s]![k]!;
    const signal = given.signals[s]!;
    if (!(step > 0) || Number.isNaN(height)) continue;
    const clear = 6 * Math.hypot(signal.uncertainty[k]!, median(signal.uncertainty));
    if (step < clear) continue;
    const usual = usualHeight(given, heights[s]!, k, step);
    if (signal.sight !== "current" && height - usual > Math.max(clear, shifted * usual)) return "contact-break";
    if (height < gone * usual) {
      collapsed = true;
      if (signal.sight === "load") current = true;
    }
  }
  return collapsed || current ? "load-reset" : null;
}

/** What a signal stands at in this transmission as a rule: weighed by time, the regime's step counting as well. */
function usualHeight(given: DisturbanceCase, heights: Float64Array, k: number, step: number): number {
  let first = k;
  while (first > 0 && given.keyed[first - 1] === 1) first--;
  let least = Number.POSITIVE_INFINITY;
  for (let i = first; i < given.keyed.length && given.keyed[i] === 1; i++) {
    if (heights[i]! > gone * step && heights[i]! < least) least = heights[i]!;
  }
  return least === Number.POSITIVE_INFINITY ? step : least;
}
