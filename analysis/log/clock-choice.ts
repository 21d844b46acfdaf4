/**
 * Which columns stamp a recording's rows. The job's word comes first (`timeColumn`, `interval`), then stamps,
 * then numbers that a header or their own rise shows to be time, then the interval that a preamble states.
 */
import type { Recording } from "../job/job.ts";
import { Problem } from "../problem.ts";
import { type Clock, CountedClock } from "./clock.ts";
import type { Layout } from "./layout.ts";
import { columnNotFound, countsRows, findColumns } from "./named-column.ts";
import type { DecimalSign } from "./number-cell.ts";
import { NumberClock } from "./number-clock.ts";
import type { PreambleFacts } from "./preamble.ts";
import { RowCountClock } from "./row-count-clock.ts";
import type { Decision } from "./sample.ts";
import { StampClock } from "./stamp-clock.ts";
import { isBareMinutes, midnightBeside, type TimeSource } from "./time-source.ts";
import { epochOfStamp, parseStamp, zoneIn } from "./timestamp.ts";
import { parseUnit, type Unit } from "./unit.ts";

export interface ChosenClock {
  readonly clock: Clock;
  /** recordings with the same key share one clock */
  readonly key: string;
}

/** @throws {Problem} that names `interval` where the log holds no time and states no interval */
export function chooseClock(
  file: string,
  layout: Layout,
  recording: Recording,
  sources: readonly TimeSource[],
  valueColumn: number,
  preamble: PreambleFacts,
  decimal: DecimalSign,
): ChosenClock {
  const wanted = recording.timeColumn;
  if (wanted !== undefined) {
    // Each of two meters side by side has a clock of the same name: the one just left of the value is its own.
    const found = findColumns(layout, wanted);
    const column = found.findLast((k) => k < valueColumn) ?? found[0];
    if (column === undefined) throw columnNotFound(file, layout, wanted).at({ field: "timeColumn" });
    const source = sources.find(({ columns }) => columns.includes(column)) ?? {
      columns: [column],
      kind: layout.columns[column] === "stamp" ? "stamp" : "number",
    };
    refuseOrder(file, layout, recording, source);
    return clockOf(layout, recording, source, null, preamble, decimal);
  }
  const near = nearestSources(layout, sources, valueColumn);
  const stamps = near.find(({ kind }) => kind === "stamp") ?? null;
  if (recording.interval !== undefined) {
    const decision = { what: "interval", value: `${recording.interval} s`, evidence: "the job says so", sure: 1 };
    const epoch = firstRowEpoch(layout, recording, stamps, preamble);
    return counted(layout, valueColumn, recording.interval, decision, epoch, decimal);
  }
  const numbers = firstThatMoves(layout, near);
  const source = stamps !== null && numbers !== null ? finer(layout, stamps, numbers) : (stamps ?? numbers);
  const isCount = source !== null && preamble.intervalSeconds !== null && onlyCounts(layout, source);
  if (source !== null && !isCount) {
    refuseOrder(file, layout, recording, source);
    return clockOf(layout, recording, source, stamps, preamble, decimal);
  }
  if (preamble.intervalSeconds !== null) {
    const decision = {
      what: "interval",
      value: `${preamble.intervalSeconds} s`,
      evidence: `the preamble says '${preamble.intervalText}'`,
      sure: 0.95,
    };
    return counted(layout, valueColumn, preamble.intervalSeconds, decision, preamble.startEpochSeconds, decimal);
  }
  throw noTime(file, layout);
}

/** @throws {Problem} where the order of day and month that the job states makes no date of any row, and the other does */
function refuseOrder(file: string, layout: Layout, { dayFirst }: Recording, source: TimeSource): void {
  if (dayFirst === undefined || source.kind !== "stamp") return;
  const dated = layout.rows.flatMap((row) => {
    const stamp = parseStamp(textOf(row, source));
    return stamp?.date == null ? [] : [stamp];
  });
  const [shown] = dated;
  if (shown === undefined || dated.some((stamp) => epochOfStamp(stamp, dayFirst) !== null)) return;
  if (dated.some((stamp) => epochOfStamp(stamp, !dayFirst) === null)) return;
  const text = textOf(layout.rows[0]!, source).trim().slice(0, 40);
  throw new Problem(
    `'${text}' is no date with the ${dayFirst ? "day" : "month"} first; 'dayFirst' should be ${!dayFirst}`,
    {
      file,
      line: layout.bodyLine,
      field: "dayFirst",
    },
  );
}

/** Numbers 0, 1, 2 that nothing names time, under a preamble that states the interval: the rows' own. */
function onlyCounts(layout: Layout, { kind, columns: [column] }: TimeSource): boolean {
  if (kind === "stamp" || layout.header?.[column!]?.role === "time" || timeUnit(layout, column!) !== null) return false;
  return countsRows(layout, column!);
}

function noTime(file: string, layout: Layout): Problem {
  const place = { file, line: layout.headerLine ?? layout.bodyLine, field: "interval" };
  const mend = "no sampling interval is stated; the recording should state 'interval' in seconds";
  const named = layout.header?.findIndex(({ role }) => role === "time") ?? -1;
  if (named < 0) return new Problem(`no column holds time and ${mend}`, place);
  const cell = layout.rows[0]?.[named]?.trim() ?? "";
  return new Problem(
    `'${cell.slice(0, 40)}' in column '${layout.header![named]!.text}' cannot be read as time, and ${mend}`,
    place,
  );
}

/** Rows at a stated interval, by their own numbers where the log writes them. */
function counted(
  layout: Layout,
  valueColumn: number,
  intervalSeconds: number,
  decision: Decision,
  epoch: number | null,
  decimal: DecimalSign,
): ChosenClock {
  const column = layout.columns.findIndex((kind, k) => kind === "number" && k !== valueColumn && countsRows(layout, k));
  if (column < 0) return { clock: new CountedClock(intervalSeconds, epoch, decision), key: `every ${intervalSeconds}` };
  const plan = { column, header: headingOf(layout, column), intervalSeconds, firstRowEpochSeconds: epoch, decision };
  return { clock: new RowCountClock(plan, decimal), key: `every ${intervalSeconds} by ${column}` };
}

const headingOf = ({ header }: Layout, column: number): string => header?.[column]?.text || `column ${column + 1}`;

/** Of several columns of numbers that are named time, a date run together (240326) stands still. */
function firstThatMoves(layout: Layout, sources: readonly TimeSource[]): TimeSource | null {
  const numbers = sources.filter(({ kind }) => kind === "number");
  return numbers.find((source) => distinctIn(layout, source) > 1) ?? numbers[0] ?? null;
}

/** Channels may each have a time column of their own: the sources just left of the value, up to the value before it. */
function nearestSources(layout: Layout, sources: readonly TimeSource[], valueColumn: number): TimeSource[] {
  const clusters: TimeSource[][] = [];
  let last = -1;
  for (const source of sources) {
    const between = layout.columns.slice(last + 1, source.columns[0]).includes("number");
    if (clusters.length === 0 || between) clusters.push([]);
    clusters.at(-1)!.push(source);
    last = Math.max(...source.columns);
  }
  const left = clusters.findLast((cluster) => cluster[0]!.columns[0]! < valueColumn);
  return left ?? clusters[0] ?? [];
}

/** Stamps carry the date and are preferred, unless they tick too coarsely to tell the rows apart and the numbers do not. */
function finer(layout: Layout, stamps: TimeSource, numbers: TimeSource): TimeSource {
  return distinctIn(layout, stamps) < 0.8 * distinctIn(layout, numbers) ? numbers : stamps;
}

const distinctIn = (layout: Layout, source: TimeSource): number =>
  new Set(layout.rows.map((row) => textOf(row, source))).size;

const textOf = (row: readonly string[], source: TimeSource): string =>
  source.columns.map((column) => row[column] ?? "").join(" ");

function clockOf(
  layout: Layout,
  recording: Recording,
  source: TimeSource,
  stamps: TimeSource | null,
  preamble: PreambleFacts,
  decimal: DecimalSign,
): ChosenClock {
  const header = source.columns.map((column) => headingOf(layout, column)).join(" + ");
  const heading = layout.header?.[source.columns[0]!];
  const key = `${source.kind} ${source.columns.join("+")} ${recording.dayFirst ?? ""}`;
  if (source.kind === "stamp") {
    const clock = new StampClock({
      columns: source.columns,
      header,
      dayFirst: recording.dayFirst ?? null,
      dayFirstByHeader: dayFirstIn(layout, source.columns),
      yearFirstByHeader: /\by{2,4}[-/.\s]m/i.test(saidOf(layout, source.columns)),
      decimalComma: layout.decimal === ",",
      elapsed: heading?.elapsed ?? false,
      dotted: source.dotted ?? false,
      zoneByHeader: zoneIn(saidOf(layout, source.columns)),
      preambleMidnight: heading?.elapsed ? null : (midnightBeside(layout) ?? preamble.midnightEpochSeconds),
    });
    return { clock, key };
  }
  const clock = new NumberClock({
    column: source.columns[0]!,
    decimal,
    unit: timeUnit(layout, source.columns[0]!),
    header,
    mayBeDate: heading === undefined || (heading.role === "time" && !heading.elapsed),
    firstRowEpochSeconds: firstRowEpoch(layout, recording, stamps, preamble),
    midnightEpochSeconds: midnightOf(layout, recording, stamps, preamble),
  });
  return { clock, key };
}

/** `Date (DD/MM/YYYY)`, in the header or the row of units; null: neither says. */
function dayFirstIn(layout: Layout, columns: readonly number[]): boolean | null {
  const said = saidOf(layout, columns);
  if (/\bd{1,2}[-/.\s]m{1,3}[-/.\s]y/i.test(said)) return true;
  return /\bm{1,3}[-/.\s]d{1,2}[-/.\s]y/i.test(said) ? false : null;
}

const saidOf = ({ header, unitRow }: Layout, columns: readonly number[]): string =>
  columns.map((column) => `${header?.[column]?.text ?? ""} ${unitRow?.[column] ?? ""}`).join(" ");

/** Midnight of the date that stands beside the numbers, else of the preamble's. */
function midnightOf(
  layout: Layout,
  recording: Recording,
  stamps: TimeSource | null,
  preamble: PreambleFacts,
): number | null {
  const epoch =
    stamps === null
      ? (midnightBeside(layout) ?? preamble.midnightEpochSeconds)
      : firstRowEpoch(layout, recording, stamps, preamble);
  return epoch === null ? null : Math.floor(epoch / 86_400) * 86_400;
}

function timeUnit(layout: Layout, column: number): Unit | null {
  const bare = isBareMinutes(layout, column) ? parseUnit("min") : null;
  const unit = bare ?? layout.header?.[column]?.unit ?? parseUnit(layout.unitRow?.[column] ?? "");
  return unit?.quantity === "seconds" ? unit : null;
}

/** The first row's own stamp where it can be read one way only, else the preamble's. */
function firstRowEpoch(
  layout: Layout,
  recording: Recording,
  stamps: TimeSource | null,
  preamble: PreambleFacts,
): number | null {
  const stamp = stamps === null ? null : parseStamp(textOf(layout.rows[0] ?? [], stamps));
  if (stamp === null) return preamble.startEpochSeconds;
  const [dayFirst, monthFirst] = [epochOfStamp(stamp, true), epochOfStamp(stamp, false)];
  if (recording.dayFirst !== undefined) return recording.dayFirst ? dayFirst : monthFirst;
  return dayFirst !== null && monthFirst !== null && dayFirst !== monthFirst ? null : (dayFirst ?? monthFirst);
}
