/**
 * The rows above a log's body that name its columns: names, units below or above them, or units alone.
 */
import { splitCells } from "./delimited-text.ts";
import type { ColumnKind } from "./dialect.ts";
import { parseHeaderCell } from "./header-cell.ts";
import { labelledLines } from "./labelled-lines.ts";
import type { HeadRecord } from "./layout.ts";
import { parseNumberCell } from "./number-cell.ts";
import { statesInterval } from "./preamble.ts";
import { parseStamp } from "./timestamp.ts";
import { parseUnit } from "./unit.ts";

export interface Above {
  readonly header: readonly string[] | null;
  readonly headerLine: number | null;
  readonly unitRow: readonly string[] | null;
  readonly preambleEnd: number;
  /** rows between the header and the body that begin as rows do and hold a mark that is not known belong to the body */
  readonly bodyAt: number;
}

/** The header that belongs to the body, and the row of units beside it. */
export function headerAbove(
  records: readonly HeadRecord[],
  bodyAt: number,
  delimiter: string,
  columns: readonly ColumnKind[],
): Above {
  const labelled = labelledLines(records, bodyAt, (text) => headerCells(text, delimiter, columns.length));
  if (labelled !== null) {
    const { header, unitRow: itsUnits, headerAt, firstAt } = labelled;
    return { header, headerLine: records[headerAt]!.line, unitRow: itsUnits, preambleEnd: firstAt, bodyAt };
  }
  let unitRow: string[] | null = null;
  let begin = bodyAt;
  for (let i = bodyAt - 1; i >= 0; i--) {
    const { text, line } = records[i]!;
    if (/^[\s\-=+|;,_]*$/.test(text)) continue;
    // `Interval (s);60` names no columns, however well it fits.
    if (statesInterval(text)) break;
    const cells = headerCells(text, delimiter, columns.length);
    if (cells === null) break;
    if (unitRow === null && beginsAsRow(cells, columns)) begin = i;
    else if (unitRow === null && isUnitRow(cells)) unitRow = cells;
    else if (unitRow !== null && columns.length === 1 && !namesValue(cells[0]!)) break;
    else if (isHeader(cells, columns) || (unitRow !== null && numbersChannels(cells)))
      return withUnitsAbove(records, i, delimiter, {
        header: cells,
        headerLine: line,
        unitRow,
        preambleEnd: i,
        bodyAt: begin,
      });
    else break;
  }
  // A lone row of units is the header itself: `s;V;A`.
  const at = unitRow === null ? bodyAt : records.findLastIndex(({ text }, i) => i < begin && /\w/.test(text));
  return {
    header: unitRow,
    headerLine: unitRow === null ? null : records[at]!.line,
    unitRow: null,
    preambleEnd: at,
    bodyAt: unitRow === null ? bodyAt : begin,
  };
}

/** `3;OFLOW` below `No.;mV`: what counts or tells time stands in its column. */
function beginsAsRow(cells: readonly string[], columns: readonly ColumnKind[]): boolean {
  const first = cells[0]!.trim();
  if (columns.length < 2) return false;
  return columns[0] === "stamp" ? parseStamp(first) !== null : columns[0] === "number" && /^[+-]?\d/.test(first);
}

/** Above a single column's unit the logger's name may stand as well as the column's. */
const namesValue = (cell: string): boolean =>
  parseHeaderCell(cell).named !== null ||
  /value|reading|measure|level|display|wert|chan|kanal|canal|^ch ?\d/i.test(cell);

/** Some meters write the row of units above the row of names. */
function withUnitsAbove(records: readonly HeadRecord[], headerAt: number, delimiter: string, above: Above): Above {
  const at = records.findLastIndex(({ text }, i) => i < headerAt && /\w/.test(text));
  const width = above.header?.length ?? 0;
  const cells = at < 0 || above.unitRow !== null ? null : headerCells(records[at]!.text, delimiter, width);
  return cells !== null && isUnitRow(cells) ? { ...above, unitRow: cells, preambleEnd: at } : above;
}

/** Units, and in a stamp's column perhaps how it is written: `hh:mm:ss`. */
const isUnitRow = (cells: readonly string[]): boolean => {
  const filled = cells.map((cell) => cell.trim()).filter((cell) => cell !== "");
  const isUnit = (cell: string): boolean =>
    parseUnit(cell) !== null || /^([[(].{0,20}[\])]|[-–]+|[hmsdyaf:./ -]{4,})$/i.test(cell);
  return filled.some((cell) => parseUnit(cell) !== null) && filled.every(isUnit);
};

function isHeader(cells: readonly string[], columns: readonly ColumnKind[]): boolean {
  const telling = columns.flatMap((kind, k) =>
    kind === "text" || kind === "empty" ? [] : [withoutRemarks(cells[k]!)],
  );
  // `Interval: 500`, `Interval,50 ms` and `Start;10:00:00` belong to the preamble.
  if (telling.some((cell) => /[:=]\s*[\d.]/.test(cell) || isAmount(cell) || parseStamp(cell) !== null)) return false;
  // `Function;DC V` over numbers is the preamble's too.
  if (columns[0] === "number" && parseHeaderCell(cells[0]!).role === "unit") return false;
  const named = telling.filter((cell) => /[\p{L}#°%]/u.test(cell) && !/^\d/.test(cell) && !isNumber(cell)).length;
  const filled = telling.filter((cell) => cell !== "").length;
  return named > 0 && 2 * named >= filled;
}

/** `x-axis,1,2` above a row of units. */
const numbersChannels = (cells: readonly string[]): boolean =>
  cells.length > 1 && /\p{L}/u.test(cells[0]!) && cells.slice(1).every((cell, k) => cell.trim() === String(k + 1));

/** `Voltage, V (S/N: 4711)`, `Date Time, GMT+01:00`: what is said beside the name gives no value to it. */
const withoutRemarks = (cell: string): string =>
  cell
    .replace(/[([][^)\]]*[:=][^)\]]*[)\]]/g, "")
    .replace(/(GMT|UTC)[+-]\d{1,2}:\d{2}/, "$1")
    .trim();

/** `-1.2E+00` has a letter and names nothing. */
const isNumber = (cell: string): boolean => parseNumberCell(cell, ".").kind === "number";

/** `50 ms`; `1 (V)` is a channel. */
const isAmount = (cell: string): boolean => {
  const number = parseNumberCell(cell, ".");
  return number.kind === "number" && number.unit !== null && !/[([]/.test(cell);
};

/**
 * How many columns a header names that is wider than most rows below it: the last of them may be filled in a row or two
 * alone (limits, serial number). Null where there is no such header.
 */
export function widthOfWiderHeader(
  records: readonly HeadRecord[],
  bodyAt: number,
  delimiter: string,
  columns: readonly ColumnKind[],
): number | null {
  if (delimiter === " ") return null;
  const width = columns.length;
  for (let i = bodyAt - 1, looked = 0; i >= 0 && looked < 3; i--) {
    const cells = splitCells(records[i]!.text, delimiter).map((cell) => cell.trim());
    while (cells.at(-1) === "") cells.pop();
    if (cells.length === 0) continue;
    looked++;
    const named = cells.slice(0, width);
    const isWider = cells.length > width && width > 1 && cells.length <= 2 * width + 8;
    if (!isWider || !isHeader(named, columns) || !named.some(namesColumn)) continue;
    if (cells.slice(width).every((cell) => /\p{L}/u.test(cell) && !isNumber(cell))) return cells.length;
  }
  return null;
}

/** The cells of a header row, one a column; null where it does not have as many as the rows below it. */
export function headerCells(text: string, delimiter: string, width: number): string[] | null {
  const bare = text.replace(/^\s*(#+|%+|\/\/)\s*/, "");
  for (const line of bare === text ? [text] : [text, bare]) {
    const cells = delimiter === " " ? blankHeaderCells(line, width) : cutHeader(line, delimiter, width);
    if (cells !== null) return cells;
  }
  return null;
}

function cutHeader(line: string, delimiter: string, width: number): string[] | null {
  const cells = splitCells(line, delimiter).map((cell) => cell.trim());
  while (cells.length > width && cells.at(-1) === "") cells.pop();
  // The last column may have no name; `Meter,handheld` over three columns names none.
  if (cells.length === width - 1 && width > 2 && cells.some(namesColumn)) cells.push("");
  return cells.length === width ? cells : null;
}

export const namesColumn = (cell: string): boolean => {
  const { role, unit, named } = parseHeaderCell(cell);
  return role !== "value" || unit !== null || named !== null;
};

/** `Time (s)  Voltage (V)` over two columns: blanks within a header cell are single, or stand before a bracket. */
function blankHeaderCells(text: string, width: number): string[] | null {
  const line = text.trim();
  const ways = [
    ...(line.includes('"') ? [splitCells(line, " ")] : []),
    line.split(/[ \t]+/),
    line.split(/[ \t]{2,}|\t/),
    line.replace(/[ ]+(?=[([])/g, "\u00a0").split(/[ \t]+/),
  ];
  const cells = ways.find((way) => way.length === width);
  return cells?.map((cell) => cell.replaceAll("\u00a0", " ")) ?? null;
}
