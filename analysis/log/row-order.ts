/**
 * Rows that do not stand in the order of their time: newest first, shuffled by an export that gathers several parts,
 * or a ring memory written out from its first place on, whose oldest rows stand in the middle. A clock that was set
 * back or a meter that began anew looks otherwise: its rows cannot be laid into one regular row again.
 */
import type { Timeline } from "./clock.ts";
import type { Decision } from "./sample.ts";

export interface RowOrder {
  /** of each place in time, the row of the file that belongs there; null: newest first */
  readonly rows: Uint32Array | null;
  readonly warning: string;
  readonly decision: Decision;
}

/** Steps outside these shares of the usual one are too short, or have a hole in them. */
const shortShare = 0.5;
const holeShare = 1.5;
/** A clock that goes back at so many rows is none that was set back. */
const shuffledShare = 0.1;
const fewestFalls = 3;
/** Rows that all have a time of their own. */
const distinctShare = 0.95;

/**
 * @returns null where the rows are in order, or nothing says that they were ever in another
 */
export function rowOrder({ seconds, wrapsAtMidnight }: Timeline): RowOrder | null {
  if (fallsMostly(seconds)) return turned;
  const falls = countFalls(seconds);
  // A time of day goes back at midnight.
  if (falls === 0 || wrapsAtMidnight) return null;
  const rows = sorted(seconds);
  const regular = fillsOneRow(seconds, rows);
  if (!regular && !isShuffled(seconds, rows, falls)) return null;
  const moved = rows.reduce((count, row, place) => count + (row === place ? 0 : 1), 0);
  return {
    rows,
    warning: `the rows do not stand in the order of their time (${falls === 1 ? "one is" : `${falls} are`} earlier than the row before); they were sorted`,
    decision: {
      what: "rowOrder",
      value: `sorted by time, ${moved} rows moved`,
      evidence: regular
        ? "in order of time the rows follow each other regularly"
        : "one row in ten or more is earlier than the row before it",
      sure: regular ? 0.97 : 0.85,
    },
  };
}

const turned: RowOrder = {
  rows: null,
  warning: "the rows stand newest first; they were turned round",
  decision: { what: "rowOrder", value: "newest first", evidence: "nearly every step goes back", sure: 0.98 },
};

/** Whether nearly every step goes back; of many, an even sample of 10,000 tells. */
function fallsMostly(seconds: Float64Array): boolean {
  const stride = Math.max(1, Math.floor(seconds.length / 10_000));
  let falls = 0;
  let rises = 0;
  for (let i = 1; i < seconds.length; i += stride) {
    const step = seconds[i]! - seconds[i - 1]!;
    if (step < 0) falls++;
    else if (step > 0) rises++;
  }
  return falls > 2 && falls > 9 * rises;
}

/** Rows that are earlier than the row before. */
export function countFalls(seconds: Float64Array): number {
  let falls = 0;
  for (let i = 1; i < seconds.length; i++) if (seconds[i]! < seconds[i - 1]!) falls++;
  return falls;
}

/** Rows by time; those of one time keep the order in which they stand. Rising runs are merged two by two, so that a long log with few falls takes little. */
function sorted(seconds: Float64Array): Uint32Array {
  const n = seconds.length;
  let rows = new Uint32Array(n);
  let starts: number[] = [0];
  for (let i = 1; i < n; i++) {
    rows[i] = i;
    if (seconds[i]! < seconds[i - 1]!) starts.push(i);
  }
  for (let spare = new Uint32Array(n); starts.length > 1; [rows, spare] = [spare, rows]) {
    for (let r = 0; r < starts.length; r += 2)
      merge(seconds, rows, spare, starts[r]!, starts[r + 1] ?? n, starts[r + 2] ?? n);
    starts = starts.filter((_, r) => r % 2 === 0);
  }
  return rows;
}

/** Two runs of rows, from … middle and middle … end, as one into another array. */
function merge(
  seconds: Float64Array,
  rows: Uint32Array,
  into: Uint32Array,
  from: number,
  middle: number,
  end: number,
): void {
  let a = from;
  let b = middle;
  for (let to = from; to < end; to++) {
    const takeA = b >= end || (a < middle && seconds[rows[a]!]! <= seconds[rows[b]!]!);
    into[to] = takeA ? rows[a++]! : rows[b++]!;
  }
}

/** Whether sorted rows follow each other at the log's own step: none too near another, and no hole that was not in the file. */
function fillsOneRow(seconds: Float64Array, rows: Uint32Array): boolean {
  const step = usualStep(seconds, rows);
  let holes = 0;
  for (let i = 1; i < rows.length; i++) {
    const ahead = seconds[rows[i]!]! - seconds[rows[i - 1]!]!;
    const repeats = ahead === 0 && rows[i] === rows[i - 1]! + 1;
    if (ahead < shortShare * step && !repeats) return false;
    if (ahead > holeShare * step) holes++;
  }
  for (let i = 1; i < seconds.length; i++) if (seconds[i]! - seconds[i - 1]! > holeShare * step) holes--;
  return step > 0 && holes <= 0;
}

/** Median of the steps of sorted rows, those of nought left out. */
function usualStep(seconds: Float64Array, rows: Uint32Array): number {
  const steps = new Float64Array(rows.length);
  let count = 0;
  for (let i = 1; i < rows.length; i++) {
    const ahead = seconds[rows[i]!]! - seconds[rows[i - 1]!]!;
    if (ahead > 0) steps[count++] = ahead;
  }
  return steps.subarray(0, count).sort()[count >> 1] ?? 0;
}

function isShuffled(seconds: Float64Array, rows: Uint32Array, falls: number): boolean {
  if (falls < fewestFalls || falls < shuffledShare * seconds.length) return false;
  let distinct = 1;
  for (let i = 1; i < rows.length; i++) if (seconds[rows[i]!]! > seconds[rows[i - 1]!]!) distinct++;
  return distinct >= distinctShare * rows.length;
}

/** A column in the order of time; the column itself may be turned. */
export function inOrder(column: Float64Array, order: RowOrder | null): Float64Array {
  if (order === null) return column;
  const { rows } = order;
  if (rows === null) return column.reverse();
  const ordered = new Float64Array(rows.length);
  for (let i = 0; i < rows.length; i++) ordered[i] = column[rows[i]!]!;
  return ordered;
}
