/**
 * What a filled channel comes to: its ticks made seconds, its gaps taken out, its account closed.
 */
import { Problem } from "../problem.ts";
import type { Channel, ClockedChannels } from "./channel.ts";
import { medianStep } from "./clock.ts";
import { repairClock } from "./clock-repair.ts";
import type { ChosenColumn } from "./column-choice.ts";
import { inOrder, type RowOrder, rowOrder } from "./row-order.ts";
import type { Decision, Extremes, Samples } from "./sample.ts";

/** Gaps beyond these are counted, not placed. */
const mostGaps = 10_000;

/** The rows of one clock in seconds from its first row on, so that channels without gaps can share them as they are. */
export interface SettledClock {
  readonly seconds: Float64Array;
  /** what the clock showed in its first row, whatever it counts */
  readonly firstRowClockSeconds: number;
  readonly firstRowEpochSeconds: number | null;
  readonly stampSeconds: number;
  /** null: the rows stand in the order of their time */
  readonly order: RowOrder | null;
  readonly decisions: readonly Decision[];
  readonly warnings: readonly string[];
}

export function settleClock(clocked: ClockedChannels): SettledClock {
  const asWritten = clocked.clock.timeline(clocked.ticks.take());
  const order = rowOrder(asWritten);
  const timeline = { ...asWritten, seconds: inOrder(asWritten.seconds, order) };
  const running = repairClock(timeline);
  const { seconds, stampSeconds } = running;
  const first = seconds[0] ?? 0;
  if (first !== 0) for (let i = 0; i < seconds.length; i++) seconds[i] = seconds[i]! - first;
  const origin = timeline.originEpochSeconds;
  return {
    seconds,
    stampSeconds,
    order,
    firstRowClockSeconds: (origin ?? 0) + first,
    firstRowEpochSeconds: origin === null ? null : origin + first,
    decisions: order === null ? timeline.decisions : [...timeline.decisions, order.decision],
    warnings: [...(order === null ? [] : [order.warning]), ...timeline.warnings, ...running.warnings],
  };
}

export interface SettledChannel {
  readonly samples: Samples;
  readonly extremes: Extremes | null;
}

/**
 * @param startEpochSeconds the job's word on when the first sample was taken; null: as stamped
 * @throws {Problem} where no row holds a number
 */
export function settleChannel(
  file: string,
  channel: Channel,
  clock: SettledClock,
  startEpochSeconds: number | null,
  intervalIfShared: number,
): SettledChannel {
  const values = inOrder(channel.values.take(), clock.order);
  const kept = keptRows(values, channel.gaps);
  if (values.length === 0) throw noRows(file, clock);
  if (kept.count === 0) throw noNumbers(file, channel, values.length);
  if (!channel.choice.unitForced) refuseUnlikely(file, channel, values);
  const start = clock.seconds[kept.first]!;
  const seconds = kept.rows === null && start === 0 ? clock.seconds : pick(clock.seconds, kept.rows, start);
  const firstRow = clock.firstRowEpochSeconds;
  const samples: Samples = {
    seconds,
    values: kept.rows === null ? values : pick(values, kept.rows, 0),
    gapSeconds: kept.rows === null ? new Float64Array(0) : gapsOf(values, clock.seconds, start),
    startEpochSeconds: startEpochSeconds ?? (firstRow === null ? null : firstRow + start),
    startClockSeconds: clock.firstRowClockSeconds + start,
    stampSeconds: clock.stampSeconds,
    intervalSeconds: kept.rows === null ? intervalIfShared : medianStep(seconds, false),
    resolution: Number.isFinite(channel.resolution) ? channel.resolution : 0,
    column: channel.choice.shown,
  };
  return { samples, extremes: extremesOf(channel, clock.order, kept.rows) };
}

interface KeptRows {
  /** null: every row */
  readonly rows: Uint32Array | null;
  readonly first: number;
  readonly count: number;
}

function keptRows(values: Float64Array, gaps: number): KeptRows {
  const count = values.length - gaps;
  if (gaps === 0) return { rows: null, first: 0, count };
  const rows = new Uint32Array(count);
  for (let i = 0, k = 0; i < values.length; i++) if (!Number.isNaN(values[i])) rows[k++] = i;
  return { rows, first: rows[0] ?? 0, count };
}

function pick(all: Float64Array, rows: Uint32Array | null, less: number): Float64Array {
  const picked = new Float64Array(rows === null ? all.length : rows.length);
  for (let k = 0; k < picked.length; k++) picked[k] = all[rows === null ? k : rows[k]!]! - less;
  return picked;
}

function gapsOf(values: Float64Array, seconds: Float64Array, start: number): Float64Array {
  const gaps: number[] = [];
  for (let i = 0; i < values.length && gaps.length < mostGaps; i++) {
    if (Number.isNaN(values[i])) gaps.push(seconds[i]! - start);
  }
  return Float64Array.from(gaps);
}

function extremesOf(channel: Channel, order: RowOrder | null, rows: Uint32Array | null): Extremes | null {
  if (channel.lowest === null && channel.highest === null) return null;
  const take = (column: Channel["lowest"]) => (column === null ? null : pick(inOrder(column.take(), order), rows, 0));
  return { lowest: take(channel.lowest), highest: take(channel.highest) };
}

/** Beyond what a 12 V system, its alternator thrown off load, or its starter ever shows (from memory, with room). */
const mostLikely = { volts: 150, amps: 3000 };

/**
 * Thousands of volts are millivolts whose unit stands nowhere, or has its prefix in a column of its own: never what was
 * measured. Of many values an even sample of 10,000 tells; a few beyond are left to be seen as what they are.
 */
function refuseUnlikely(file: string, { choice, quantity }: Channel, values: Float64Array): void {
  const stride = Math.max(1, Math.floor(values.length / 10_000));
  const beyond: number[] = [];
  let seen = 0;
  for (let i = 0; i < values.length; i += stride) {
    if (!Number.isNaN(values[i])) seen++;
    if (Math.abs(values[i]!) > mostLikely[quantity]) beyond.push(values[i]!);
  }
  if (beyond.length <= seen / 20) return;
  const [shown, small] = quantity === "volts" ? [`${beyond[0]} V`, "mV"] : [`${beyond[0]} A`, "mA"];
  throw new Problem(
    `${choice.unitStated ? "" : "no unit stands in the file, and "}${shown} cannot be in a 12 V system; the recording should say in 'unit' what the numbers are in, as ${small}`,
    { file, column: columnOf(choice), field: "unit" },
  );
}

const columnOf = ({ shown, column }: ChosenColumn): string | number => (typeof shown === "string" ? shown : column + 1);

function noRows(file: string, { decisions }: SettledClock): Problem {
  const time = decisions
    .find(({ what }) => what === "timeColumn")
    ?.value.split(":")[0]
    ?.replace(/^column /, "");
  return new Problem(
    "no row has a time that can be read; the recording can name another column in 'timeColumn', or state 'interval'",
    {
      file,
      ...(time === undefined ? {} : { column: time }),
      field: "timeColumn",
    },
  );
}

function noNumbers(file: string, channel: Channel, rows: number): Problem {
  return new Problem(`no row holds a number in ${channel.quantity} here (${rows} rows read, all of them gaps)`, {
    file,
    column: columnOf(channel.choice),
  });
}
