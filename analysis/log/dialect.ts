/**
 * Dialects of delimited text: which delimiter and which decimal sign make most sense of a log's rows.
 * Goes in: rows as text. Comes out: the dialects that cut them into cells that can be read, and what each column then holds.
 */
import { delimiters, splitCells } from "./delimited-text.ts";
import { type Decimal, parseNumberCell } from "./number-cell.ts";
import { parseStamp } from "./timestamp.ts";
import { parseUnit } from "./unit.ts";

/** `lapse`: a number with a unit of time beside it, which may stand among stamps: `5 s`, `1m 05s` */
export type CellKind = "number" | "lapse" | "gap" | "stamp" | "unit" | "text" | "empty";
/** What a column holds in most of the rows looked at. */
export type ColumnKind = Exclude<CellKind, "gap" | "lapse">;

export interface Dialect {
  readonly delimiter: string;
  readonly decimal: Decimal;
}

export interface Fit {
  readonly dialect: Dialect;
  readonly columns: readonly ColumnKind[];
  readonly decimalSeen: boolean;
  readonly score: number;
}

export interface DialectWishes {
  readonly delimiter: string | null;
  readonly decimal: Decimal | null;
}

export const mostColumns = 4096;

/** Each dialect that makes rows of the lines. */
export function fittingDialects(lines: readonly string[], wishes: DialectWishes): Fit[] {
  const tabbed = sameTabs(lines);
  return dialectsTried(wishes, lines).flatMap((dialect) => {
    const fit = fitDialect(lines, dialect);
    if (fit === null) return [];
    const across = dialect.delimiter === " " && tabbed ? tabsCut : areOneNumber(lines, dialect) ? oneNumberCut : 1;
    return [{ ...fit, score: across * fit.score }];
  });
}

/** How far the best dialect stands above the next that cuts the rows into other cells. */
export function sureness(best: Fit, dialects: readonly Fit[]): number {
  const rival = dialects.find(
    ({ dialect, columns }) => dialect.delimiter !== best.dialect.delimiter && columns.length !== best.columns.length,
  );
  return Math.max(0.5, Math.min(0.99, 1 - 0.5 * ((rival?.score ?? 0) / best.score) ** 4));
}

function dialectsTried(wishes: DialectWishes, lines: readonly string[]): Dialect[] {
  const signs: Decimal[] = wishes.decimal === null ? [".", ","] : [wishes.decimal];
  const marks = wishes.delimiter === null ? delimitersIn(lines) : [wishes.delimiter];
  return marks.flatMap((delimiter) => signs.map((decimal) => ({ delimiter, decimal })));
}

/** Delimiters that stand in no line all leave the lines whole: one of them is enough. */
function delimitersIn(lines: readonly string[]): string[] {
  const present = delimiters.filter((delimiter) => lines.some((line) => line.includes(delimiter)));
  const absent = delimiters.find((delimiter) => !present.includes(delimiter));
  return absent === undefined ? present : [...present, absent];
}

interface CellLook {
  readonly kind: CellKind;
  /** how far the cell is understood, 0 to 1 */
  readonly credit: number;
  readonly decimals: boolean;
}

const textLook: CellLook = { kind: "text", credit: 0, decimals: false };

function lookAtCell(text: string, decimal: Decimal): CellLook {
  const cell = text.trim();
  if (cell === "") return { kind: "empty", credit: 0, decimals: false };
  const number = parseNumberCell(cell, decimal);
  if (number.kind === "number") {
    // 05 is rather the decimals of 12,05 than a count; 1 234 could be two numbers.
    const doubtful = number.grouped ? 0.85 : /^[+-]?0\d/.test(cell) ? 0.6 : 1;
    const basic = /^\d{8}([T ]?\d{6}([.,]\d+)?)?$/.test(cell) && parseStamp(cell) !== null;
    const lapse = number.unit?.quantity === "seconds";
    return { kind: basic ? "stamp" : lapse ? "lapse" : "number", credit: doubtful, decimals: number.decimals > 0 };
  }
  if (number.kind === "gap") return { kind: "gap", credit: 1, decimals: false };
  // `10:00:00` and `+12` with a tab between are no stamp with its zone.
  if (!cell.includes("\t") && parseStamp(cell) !== null) return { kind: "stamp", credit: 1, decimals: false };
  if (/^[ap]\.?m\.?$/i.test(cell)) return { kind: "stamp", credit: 1, decimals: false };
  return parseUnit(cell) === null ? textLook : { kind: "unit", credit: 1, decimals: false };
}

function fitDialect(lines: readonly string[], dialect: Dialect): Fit | null {
  const rows = lines.map((line) =>
    splitCells(line, dialect.delimiter)
      .slice(0, mostColumns)
      .map((cell) => lookAtCell(cell, dialect.decimal)),
  );
  const dataRows = rows.filter(isDataRow);
  const width = commonWidth(dataRows);
  if (width === 0) return null;
  const sized = dataRows.filter((row) => row.length === width);
  const columns = Array.from({ length: width }, (_, k) => columnKind(sized.map((row) => row[k]!.kind)));
  const fitting = sized.filter((row) =>
    rowFits(
      row.map(({ kind }) => kind),
      columns,
    ),
  );
  if (fitting.length === 0 || !columns.includes("number")) return null;
  return {
    dialect,
    columns,
    decimalSeen: fitting.some((row) => row.some(({ decimals }) => decimals)),
    score: scoreOf(fitting, dialect, columns),
  };
}

function isDataRow(row: readonly CellLook[]): boolean {
  const filled = row.filter(({ kind }) => kind !== "empty");
  const understood = filled.filter(({ kind }) => kind !== "text").length;
  return filled.some(({ kind }) => kind === "number" || kind === "lapse") && 3 * understood >= filled.length;
}

function scoreOf(
  fitting: readonly (readonly CellLook[])[],
  { delimiter }: Dialect,
  columns: readonly ColumnKind[],
): number {
  let credit = 0;
  let filled = 0;
  for (const row of fitting) {
    for (const look of row) {
      credit += look.credit;
      if (look.kind !== "empty") filled++;
    }
  }
  // A blank between a number and its unit parts no columns: `400 mA` under `Amps DC` is one.
  const parted = columns.filter((kind) => kind !== "empty" && !(delimiter === " " && kind === "unit"));
  const single = parted.length < 2 ? 0.9 : 1;
  return fitting.length * (credit / filled) ** 2 * single * (delimiter === " " ? 0.97 : 1);
}

/** The width that most rows have; of two as common, the greater. */
function commonWidth(rows: readonly (readonly unknown[])[]): number {
  const counts = new Map<number, number>();
  for (const row of rows) counts.set(row.length, (counts.get(row.length) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1] || b[0] - a[0])[0]?.[0] ?? 0;
}

function columnKind(kinds: readonly CellKind[]): ColumnKind {
  const counts = new Map<ColumnKind, number>();
  for (const kind of kinds) {
    // A gap stands where a number could.
    const counted = kind === "gap" || kind === "lapse" ? "number" : kind;
    if (counted !== "empty") counts.set(counted, (counts.get(counted) ?? 0) + 1);
  }
  if (kinds.includes("lapse") && counts.has("stamp")) return "stamp";
  // `H` and `A` among other words are flags.
  if ((counts.get("text") ?? 0) > (counts.get("unit") ?? 0) / 10) counts.delete("unit");
  return [...counts].sort((a, b) => b[1] - a[1])[0]?.[0] ?? "empty";
}

function rowFits(kinds: readonly CellKind[], columns: readonly ColumnKind[]): boolean {
  if (!kinds.some((kind) => kind === "number" || kind === "gap" || kind === "lapse")) return false;
  return columns.every((column, k) => {
    const kind = kinds[k] ?? "empty";
    if (kind === "empty" || column === "text" || column === "empty") return true;
    if (kind === "lapse") return column === "number" || column === "stamp";
    return kind === column || (kind === "gap" && (column === "number" || column === "unit"));
  });
}

export function fitsRow(text: string, dialect: Dialect, columns: readonly ColumnKind[]): boolean {
  const cells = splitCells(text, dialect.delimiter);
  // Words and flags at a row's end may be left out, numbers not.
  const leastWidth = Math.min(2, columns.lastIndexOf("number") + 1);
  const width = trimmedWidth(cells);
  if (width > columns.length || width < leastWidth) return false;
  return rowFits(
    cells.map((cell) => lookAtCell(cell, dialect.decimal).kind),
    columns,
  );
}

const trimmedWidth = (cells: readonly string[]): number => cells.findLastIndex((cell) => cell.trim() !== "") + 1;

/** Where every row has as many tabs, a blank parts no cells: `06:31:40 PM`. */
const tabsCut = 0.8;

/** All but a short row here and there. */
const nearlyAll = 0.8;

/** `12,6168` or `12 616,80` in every row is one number rather than two, unless the first of them counts on. */
const oneNumberCut = 0.6;
const oneNumber: Record<string, RegExp> = {
  ",": /^\s*([+-]?\d+(?:[ .'\u00a0\u202f]\d{3})*),(\d{2,})\s*$/,
  " ": /^\s*([+-]?\d{1,3}) (\d{3})(?:[.,]\d+)?\s*$/,
};

function areOneNumber(lines: readonly string[], { delimiter }: Dialect): boolean {
  const pattern = oneNumber[delimiter];
  if (pattern === undefined) return false;
  const rows = lines.map((line) => pattern.exec(line)).filter((match) => match !== null);
  if (rows.length < nearlyAll * lines.length || new Set(rows.map(([, , part]) => part!.length)).size !== 1)
    return false;
  const wholes = rows.map(([, whole]) => Number(whole));
  return wholes.some((whole, i) => i > 0 && !(whole > wholes[i - 1]!));
}

/** A preamble, which has tabs of its own, may stand before the rows, and words below them. */
function sameTabs(lines: readonly string[]): boolean {
  const tabs = lines.map((line) => line.split("\t").length - 1);
  const usual = tabs[tabs.length >> 1] ?? 0;
  const rows = tabs.slice(tabs.indexOf(usual), tabs.lastIndexOf(usual) + 1);
  return usual > 0 && rows.filter((count) => count === usual).length > nearlyAll * rows.length;
}
