/**
 * The clock of a log: what stamps each row with a tick, and what the ticks come to in seconds once all are read.
 * Day and month, midnight, the unit of a bare number: one row cannot tell, so ticks are kept as written until the end.
 */
import type { Seconds } from "../units.ts";
import type { Decision } from "./sample.ts";

export interface Timeline {
  /** one entry a row, in seconds by the clock as stamped, not yet repaired: may repeat and fall */
  readonly seconds: Float64Array;
  /** Unix time at which `seconds` would read 0; null where no date is known */
  readonly originEpochSeconds: number | null;
  readonly stampSeconds: Seconds;
  /** time of day without a date: begins anew at midnight */
  readonly wrapsAtMidnight: boolean;
  /** dated, and no zone written: summer time may come and go */
  readonly localTime: boolean;
  readonly decisions: readonly Decision[];
  readonly warnings: readonly string[];
}

export interface Clock {
  /** columns that it reads, counted from 0 */
  readonly columns: readonly number[];
  /**
   * The tick of one row, as written.
   * @param row the row's number among those stamped by this clock, counted from 0
   * @returns NaN where the row has no readable stamp
   */
  read(cells: readonly string[], row: number): number;
  /** Told by the byte scanner, which stamps rows in its place: how many decimals it saw at most, −1 for none seen. */
  noteDecimals?(decimals: number): void;
  /** @param ticks of all rows; the clock may change them in place */
  timeline(ticks: Float64Array): Timeline;
}

/** A log without time, sampled at a stated interval. */
export class CountedClock implements Clock {
  readonly columns: readonly number[] = [];
  readonly #intervalSeconds: Seconds;
  readonly #firstRowEpochSeconds: number | null;
  readonly #decision: Decision;

  constructor(intervalSeconds: Seconds, firstRowEpochSeconds: number | null, decision: Decision) {
    this.#intervalSeconds = intervalSeconds;
    this.#firstRowEpochSeconds = firstRowEpochSeconds;
    this.#decision = decision;
  }

  read(_cells: readonly string[], row: number): number {
    return row;
  }

  timeline(ticks: Float64Array): Timeline {
    return {
      seconds: rescale(ticks, 0, this.#intervalSeconds, 1),
      originEpochSeconds: this.#firstRowEpochSeconds,
      stampSeconds: 0,
      wrapsAtMidnight: false,
      localTime: false,
      decisions: [this.#decision],
      warnings: [],
    };
  }
}

/** (tick − start) · multiply / divide, in place: ten million ticks are not copied for it. */
export function rescale(ticks: Float64Array, start: number, multiply: number, divide: number): Float64Array {
  if (start === 0 && multiply === divide) return ticks;
  for (let i = 0; i < ticks.length; i++) ticks[i] = ((ticks[i]! - start) * multiply) / divide;
  return ticks;
}

/**
 * Median of the steps from each entry to the next, zeros left out where `positive`.
 * Beyond 10,000 steps an even sample of them is taken: a logger's interval does not hide between.
 */
export function medianStep(seconds: Float64Array, positive: boolean): number {
  const stride = Math.max(1, Math.floor(seconds.length / 10_000));
  const steps = new Float64Array(Math.ceil(seconds.length / stride));
  let count = 0;
  for (let i = 1; i < seconds.length; i += stride) {
    const step = seconds[i]! - seconds[i - 1]!;
    if (step > 0 || (!positive && step === 0)) steps[count++] = step;
  }
  if (count === 0) return 0;
  const sorted = steps.subarray(0, count).sort();
  const median = (sorted[(count - 1) >> 1]! + sorted[count >> 1]!) / 2;
  // To a nanosecond: what is finer is the rounding of the subtraction.
  return Math.round(median * 1e9) / 1e9 || median;
}
