/**
 * A clock made to run forward: midnight passed, summer time begun or ended, a meter restarted, a clock set back,
 * rows out of order, stamps repeated because the clock is coarser than the logging. Every repair is counted and said.
 */
import type { Seconds } from "../units.ts";
import { medianStep, type Timeline } from "./clock.ts";

export interface RunningClock {
  /** never falling; one entry a row */
  readonly seconds: Float64Array;
  readonly stampSeconds: Seconds;
  readonly warnings: readonly string[];
}

const day = 86_400;
const hour = 3600;
/** A stamp that returns to its place within so many rows was a damaged one, not a clock set back. */
const rowsToReturn = 8;

/** @returns the same array, repaired in place */
export function repairClock(timeline: Timeline): RunningClock {
  const { seconds } = timeline;
  const warnings = runsOn(seconds, timeline.localTime) ? [] : new Repair(seconds, timeline).run();
  return { seconds, stampSeconds: spreadRepeats(seconds, timeline.stampSeconds), warnings };
}

/** Whether the clock never falls, nor leaps by an hour where that could be the start of summer time. */
function runsOn(seconds: Float64Array, localTime: boolean): boolean {
  const longest = localTime ? hour : Number.POSITIVE_INFINITY;
  for (let i = 1; i < seconds.length; i++) {
    const step = seconds[i]! - seconds[i - 1]!;
    if (step < 0 || step >= longest) return false;
  }
  return true;
}

class Repair {
  readonly #seconds: Float64Array;
  readonly #timeline: Timeline;
  readonly #step: Seconds;
  #shift = 0;
  #midnights = 0;
  #winters = 0;
  #springs = 0;
  #damaged = 0;
  #setBack = 0;

  constructor(seconds: Float64Array, timeline: Timeline) {
    this.#seconds = seconds;
    this.#timeline = timeline;
    this.#step = medianStep(seconds, true);
  }

  /** @returns what was repaired, in sentences */
  run(): string[] {
    const seconds = this.#seconds;
    for (let i = 1; i < seconds.length; i++) {
      const at = seconds[i]! + this.#shift;
      const step = at - seconds[i - 1]!;
      if (step < 0) i = this.#mend(i, step);
      else {
        if (step >= hour && this.#beginsSummerTime(i, step)) this.#shift -= hour;
        seconds[i] = seconds[i]! + this.#shift;
      }
    }
    return this.#warnings();
  }

  /** Mends the fall at row i, and returns the last row that is then done. */
  #mend(i: number, step: number): number {
    const seconds = this.#seconds;
    if (this.#timeline.wrapsAtMidnight && step < -day / 2 && step >= -day) {
      this.#midnights++;
      this.#shift += day;
    } else if (this.#endsSummerTime(step)) {
      this.#winters++;
      this.#shift += hour;
    } else if (i >= 2 && seconds[i]! + this.#shift >= seconds[i - 2]!) {
      this.#damaged++;
      seconds[i - 1] = (seconds[i - 2]! + seconds[i]! + this.#shift) / 2;
    } else {
      const back = this.#returnsAt(i);
      if (back > 0) return this.#bridge(i, back);
      this.#setBack++;
      this.#shift += this.#step - step;
    }
    seconds[i] = seconds[i]! + this.#shift;
    return i;
  }

  #endsSummerTime(step: number): boolean {
    const after = step + hour;
    return this.#timeline.localTime && after >= 0 && after <= Math.max(60, 5 * this.#step);
  }

  /** Clocks go forward on a Sunday, on the hour, at night: an hour missing just there is none. */
  #beginsSummerTime(i: number, step: number): boolean {
    const { localTime, originEpochSeconds: origin } = this.#timeline;
    const slack = Math.max(2, 3 * this.#step);
    if (!localTime || origin === null || step > hour + slack || this.#step > 600) return false;
    const before = origin + this.#seconds[i - 1]!;
    const sunday = (Math.floor((before + slack) / day) + 4) % 7 === 0;
    const ofDay = (before + slack) % day;
    if (!sunday || ofDay > 4 * hour || ofDay % hour > slack) return false;
    this.#springs++;
    return true;
  }

  /** The row at which the clock is back beyond where it stood before row i; 0 where it does not come back. */
  #returnsAt(i: number): number {
    const before = this.#seconds[i - 1]!;
    for (let j = i + 1; j < Math.min(this.#seconds.length, i + rowsToReturn); j++) {
      const ahead = this.#seconds[j]! + this.#shift - before;
      if (ahead >= 0 && ahead <= 3 * (j - i + 2) * this.#step) return j;
    }
    return 0;
  }

  #bridge(i: number, back: number): number {
    const seconds = this.#seconds;
    const from = seconds[i - 1]!;
    const to = seconds[back]! + this.#shift;
    this.#damaged += back - i;
    for (let j = i; j < back; j++) seconds[j] = from + ((to - from) * (j - i + 1)) / (back - i + 1);
    seconds[back] = to;
    return back;
  }

  #warnings(): string[] {
    const said: string[] = [];
    const times = (count: number): string => (count === 1 ? "once" : `${count} times`);
    if (this.#midnights > 0)
      said.push(`the time of day passes midnight ${times(this.#midnights)}; the log was carried on over it`);
    if (this.#winters > 0)
      said.push(
        `the clock falls back by one hour ${times(this.#winters)}, as at the end of summer time; the log was carried on over it`,
      );
    if (this.#springs > 0)
      said.push(
        `the clock leaps ahead by one hour ${times(this.#springs)}, as at the start of summer time; the leap was taken out`,
      );
    if (this.#damaged > 0)
      said.push(
        `the time steps back ${times(this.#damaged)} for a few rows; those stamps were placed between their neighbours`,
      );
    if (this.#setBack > 0)
      said.push(
        `the clock steps back ${times(this.#setBack)} and goes on from there (meter restarted, or clock set); the log was carried on with one interval between`,
      );
    return said;
  }
}

/**
 * Rows that share a stamp are spread over what one step of the clock is worth, in place.
 * @returns that step: finer digits are not believed where the clock plainly ticks in coarser steps
 */
function spreadRepeats(seconds: Float64Array, writtenStep: Seconds): Seconds {
  const { repeats, smallestStep } = countRepeats(seconds);
  if (repeats === 0) return writtenStep;
  const coarse = repeats > seconds.length / 5 && Number.isFinite(smallestStep);
  const stampSeconds = coarse ? Math.max(writtenStep, smallestStep) : writtenStep;
  let before = 0;
  for (let start = 0; start < seconds.length; ) {
    const stamp = seconds[start]!;
    let end = start + 1;
    while (end < seconds.length && seconds[end] === stamp) end++;
    const count = end - start;
    if (count > 1 || before > 1) {
      const room = end < seconds.length ? Math.min(stampSeconds, seconds[end]! - stamp) : stampSeconds;
      spreadOne(seconds, start, end, room, before, end < seconds.length);
    }
    before = count;
    start = end;
  }
  return stampSeconds;
}

/** The first step of the clock is seldom whole: its rows belong to its end; and the last one's to its beginning. */
function spreadOne(
  seconds: Float64Array,
  start: number,
  end: number,
  room: number,
  before: number,
  more: boolean,
): void {
  const stamp = seconds[start]!;
  const count = end - start;
  const full = start === 0 && more ? Math.max(count, runLength(seconds, end)) : more ? count : Math.max(count, before);
  const skipped = start === 0 ? full - count : 0;
  for (let k = 0; k < count; k++) seconds[start + k] = stamp + (room * (k + skipped)) / full;
}

function runLength(seconds: Float64Array, start: number): number {
  let end = start + 1;
  while (end < seconds.length && seconds[end] === seconds[start]) end++;
  return end - start;
}

function countRepeats(seconds: Float64Array): { repeats: number; smallestStep: number } {
  let repeats = 0;
  let smallestStep = Number.POSITIVE_INFINITY;
  for (let i = 1; i < seconds.length; i++) {
    const step = seconds[i]! - seconds[i - 1]!;
    if (step === 0) repeats++;
    else if (step < smallestStep) smallestStep = step;
  }
  return { repeats, smallestStep };
}
