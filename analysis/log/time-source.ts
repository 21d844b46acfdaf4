/**
 * The columns of a log that tell time: stamps, numbers that a header, a unit or their own rise shows to be time, and
 * dates run together beside them.
 */

import { midnightOfSerialDay } from "./day-fraction.ts";
import { parseDuration } from "./duration.ts";
import type { Layout } from "./layout.ts";
import { countsRows } from "./named-column.ts";
import { parseNumberCell } from "./number-cell.ts";
import { dateOrderIn, midnightRunTogether } from "./run-together.ts";
import { parseStamp } from "./timestamp.ts";
import { parseUnit } from "./unit.ts";

/** One way of telling time that the log offers: columns counted from 0. */
export interface TimeSource {
  readonly columns: readonly number[];
  readonly kind: "stamp" | "number";
  /** time of day written as `10.00.07`, which could be a date */
  readonly dotted?: boolean;
}

/** Every column that tells time, in the order of the columns; date and time in two columns are one source. */
export function findTimeSources(layout: Layout): TimeSource[] {
  const sources = [...stampSources(layout), ...numberSources(layout)];
  return sources.sort((a, b) => a.columns[0]! - b.columns[0]!);
}

type StampPiece = "date and time" | "date" | "time" | "half";

function stampSources(layout: Layout): TimeSource[] {
  const pieces = layout.columns.map((kind, column) => (kind === "stamp" ? pieceOf(layout, column) : null));
  const taken = new Set<number>();
  const sources: TimeSource[] = [];
  for (let column = 0; column < pieces.length; column++) {
    if (pieces[column] === null || taken.has(column)) continue;
    const columns = [column];
    if (pieces[column] === "date") columns.push(...nextPiece(pieces, column, "time"));
    if (pieces[column] === "time" && pieces[column + 1] === "date") columns.unshift(column + 1);
    const last = columns.at(-1)!;
    if (pieces[last + 1] === "half") columns.push(last + 1);
    for (const used of columns) taken.add(used);
    sources.push({ columns, kind: "stamp", dotted: isDottedTime(layout, columns[0]!) });
  }
  return sources.filter(({ columns }) => pieces[columns[0]!] !== "half");
}

/** The time that belongs to a date: the next column, else the next time column before another date. */
function nextPiece(pieces: readonly (StampPiece | null)[], from: number, sought: StampPiece): number[] {
  for (let column = from + 1; column < pieces.length; column++) {
    if (pieces[column] === sought) return [column];
    if (pieces[column] === "date" || pieces[column] === "date and time") break;
  }
  return [];
}

/** `10.05.07`, `10.05.08`: what would be the year moves from row to row, and more than what would be the day. */
function isDottedTime({ rows }: Layout, column: number): boolean {
  const cells = rows.map((row) => row[column]?.trim() ?? "").filter((cell) => cell !== "");
  const parts = cells.map((cell) => /^(\d{1,2})([.-])\d{2}\2(\d{2})$/.exec(cell));
  if (parts.includes(null)) return false;
  const changes = (group: number): number =>
    parts.filter((part, i) => i > 0 && part![group] !== parts[i - 1]![group]).length;
  return changes(3) > 2 && changes(3) > 2 * changes(1);
}

function pieceOf(layout: Layout, column: number): StampPiece {
  if (isDottedTime(layout, column)) return "time";
  const text = layout.rows.map((row) => row[column]?.trim() ?? "").find((cell) => cell !== "") ?? "";
  const stamp = parseStamp(text);
  if (stamp === null) return parseDuration(text) === null ? "half" : "time";
  if (stamp.date === null) return "time";
  return stamp.secondsOfDay === null ? "date" : "date and time";
}

function numberSources(layout: Layout): TimeSource[] {
  const dates = datesRunTogether(layout);
  const numbers = layout.columns.flatMap((kind, column) =>
    kind === "number" && !dates.includes(column) ? [column] : [],
  );
  const headed = numbers.filter((column) => layout.header?.[column]?.role === "time" || besideIsTime(layout, column));
  if (headed.length > 0 || layout.columns.includes("stamp"))
    return headed.map((column) => ({ columns: [column], kind: "number" }));
  const minutes = numbers.find((column) => isBareMinutes(layout, column));
  if (minutes !== undefined) return [{ columns: [minutes], kind: "number" }];
  const first = numbers.find((column) => layout.header?.[column]?.role !== "index");
  const rising = numbers.filter((column) => mayBeUnnamedTime(layout, column));
  if (numbers.length < 2 || rising[0] === undefined || rising[0] !== first) return [];
  // A count of the rows may stand before the time.
  const counted =
    layout.header === null && rising[1] === numbers[1] && numbers.length > 2 && countsRows(layout, rising[0]);
  return [{ columns: [counted ? rising[1]! : rising[0]], kind: "number" }];
}

/** Columns of numbers whose header names the order of day, month and year in them. */
const datesRunTogether = ({ columns, header }: Layout): number[] =>
  columns.flatMap((kind, column) =>
    kind === "number" && dateOrderIn(header?.[column]?.text ?? "") !== null ? [column] : [],
  );

/** Midnight of the first row's date where it stands run together in a column of its own; null: there is none. */
export function midnightBeside(layout: Layout): number | null {
  const [column] = datesRunTogether(layout);
  if (column === undefined) return serialMidnightBeside(layout);
  return midnightRunTogether(layout.rows[0]?.[column] ?? "", dateOrderIn(layout.header![column]!.text)!);
}

/** A date that a spreadsheet turned into the number of its day, the same in every row, beside the time of day. */
function serialMidnightBeside({ columns, header, rows }: Layout): number | null {
  const column = columns.findIndex((kind, k) => kind === "number" && header?.[k]?.role === "time");
  const days = new Set(rows.map((row) => row[column]?.trim() ?? ""));
  const [text = ""] = days;
  return days.size === 1 && /^\d{5}$/.test(text) ? midnightOfSerialDay(Number(text)) : null;
}

function besideIsTime(layout: Layout, column: number): boolean {
  const inUnitRow = parseUnit(layout.unitRow?.[column] ?? "");
  if (inUnitRow !== null) return inUnitRow.quantity === "seconds";
  const cell = parseNumberCell(layout.rows[0]?.[column] ?? "", layout.decimal);
  return cell.kind === "number" && cell.unit?.quantity === "seconds";
}

/** No header names time: the first column of numbers, where it never falls and its header names nothing else. */
function mayBeUnnamedTime(layout: Layout, column: number): boolean {
  const header = layout.header?.[column];
  if (header !== undefined && (header.role !== "value" || header.unit !== null || header.named !== null)) return false;
  // Under a name that is none of time, 1, 2, 3 are the rows' own numbers; a time would begin at 0.
  const counts = countsRows(layout, column) && Number(layout.rows[0]![column]) === 1;
  if (header !== undefined && header.text !== "" && counts) return false;
  return risesThroughout(layout, column);
}

/**
 * `Min` alone is the least of an interval, unless nothing else is time, no greatest stands beside it for want of another
 * least, and it rises row by row.
 */
export function isBareMinutes(layout: Layout, column: number): boolean {
  const isMin = /^min\.?$/i.test(layout.header?.[column]?.text ?? "");
  if (!isMin) return false;
  const others = layout.header!.filter((_, k) => k !== column).map(({ role }) => role);
  return (!others.includes("highest") || others.includes("lowest")) && risesThroughout(layout, column);
}

function risesThroughout(layout: Layout, column: number): boolean {
  // `12.42 V` is no number here, and no time
  const numbers = layout.rows.map((row) => Number((row[column] ?? "").replace(",", ".")));
  return (
    numbers.filter(Number.isFinite).length > numbers.length / 2 &&
    numbers.length > 1 &&
    numbers.every((number, i) => i === 0 || number > numbers[i - 1]! || Number.isNaN(number))
  );
}
