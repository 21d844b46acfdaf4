/**
 * What the reader makes of one recording's column of one log: numbers in SI on the log's own clock,
 * and an account of every decision and of every row left out.
 */
import type { Seconds } from "../units.ts";

export interface Samples {
  /** seconds since this log's own first sample, never falling; same length as `values` */
  readonly seconds: Float64Array;
  /** volts or amps; every entry is a number, gaps are in `gapSeconds` */
  readonly values: Float64Array;
  /** moments at which a row held no number (over-range, empty); at most 10,000 are kept */
  readonly gapSeconds: Float64Array;
  /** Unix time of the first sample as stamped; null where the log carries no date */
  readonly startEpochSeconds: number | null;
  /**
   * what the log's own clock showed at the first sample, whatever it counts (elapsed, time of day, Unix time):
   * recordings of one file that share a time column differ by exactly this, dated or not
   */
  readonly startClockSeconds: Seconds;
  /** what one step of the time stamps is worth: 1 for whole seconds, 0.001 for milliseconds; a sample may lie this far from its stamp */
  readonly stampSeconds: Seconds;
  /** median step from one sample to the next; 0 where there are fewer than two */
  readonly intervalSeconds: Seconds;
  /** smallest step that the written digits can show, in SI; 0 where they show none */
  readonly resolution: number;
  /** header cell as it stands in the file, or the column's number from 1 */
  readonly column: string | number;
}

/** Something the reader decided for itself, so that it can be shown and overridden. */
export interface Decision {
  /** the field of a recording that would override it, as `delimiter`, `column`, `dayFirst` */
  readonly what: string;
  readonly value: string;
  readonly evidence: string;
  /** 0 to 1 */
  readonly sure: number;
}

export interface RejectedRows {
  readonly reason: string;
  readonly count: number;
  readonly firstLine: number;
}

/** Least and greatest of the interval that each sample stands for, where the meter writes them; NaN where it does not. */
export interface Extremes {
  readonly lowest: Float64Array | null;
  readonly highest: Float64Array | null;
}

export interface LogReading {
  readonly samples: Samples;
  /** one entry a sample; null where the log has no minimum and maximum columns */
  readonly extremes: Extremes | null;
  readonly decisions: readonly Decision[];
  readonly rejected: readonly RejectedRows[];
  readonly warnings: readonly string[];
}
