/**
 * How a log is laid out: delimiter, decimal sign, where the preamble ends, the header, and what each column holds.
 * Goes in: the first stretch of the file, cut into records. Comes out: the plan by which all its rows are read.
 */
import { delimiters, splitCells } from "./delimited-text.ts";
import { type HeaderCell, parseHeaderCell } from "./header-cell.ts";
import { headerAbove, headerCells } from "./header-row.ts";
import { type Decimal, parseNumberCell } from "./number-cell.ts";
import { formOfRows, labelsOf, plainRow, type RowForm } from "./row-form.ts";
import { parseStamp } from "./timestamp.ts";
import { parseUnit } from "./unit.ts";

export interface HeadRecord {
  readonly text: string;
  /** counted from 1 */
  readonly line: number;
  /** where its bytes begin in the head */
  readonly offset: number;
  readonly unclosed: boolean;
}

export type CellKind = "number" | "gap" | "stamp" | "unit" | "text" | "empty";
/** What a column holds in most of the rows looked at. */
export type ColumnKind = Exclude<CellKind, "gap">;

export interface Layout {
  readonly delimiter: string;
  readonly decimal: Decimal;
  /** whether any cell looked at had decimals, so that the decimal sign is known */
  readonly decimalSeen: boolean;
  readonly columns: readonly ColumnKind[];
  /** one a column; null: no header */
  readonly header: readonly HeaderCell[] | null;
  readonly headerLine: number | null;
  readonly bodyLine: number;
  /** one a column where a row of units stands under the header */
  readonly unitRow: readonly string[] | null;
  /** index of the first row of the body among the head's records */
  readonly bodyAt: number;
  /** what stands before the header */
  readonly preamble: readonly string[];
  readonly form: RowForm;
  /** one a column where each number stands beside its label; else null */
  readonly labels: readonly string[] | null;
  /** rows of the body in the head, cut into cells, as many as are worth looking at */
  readonly rows: readonly (readonly string[])[];
  /** 0 to 1 */
  readonly sure: number;
}

export interface LayoutWishes {
  readonly delimiter: string | null;
  readonly decimal: Decimal | null;
}

/** Rows from the end of the head by which dialects are compared: the body is surest to be found there. */
const rowsCompared = 80;
export const mostColumns = 4096;

/** @returns null where no run of rows with numbers is found */
export function findLayout(records: readonly HeadRecord[], wishes: LayoutWishes): Layout | null {
  const form = formOfRows(
    records
      .slice(-rowsCompared)
      .filter(isFilled)
      .map(({ text }) => text),
  );
  const found = findPlainLayout(
    form === "plain" ? records : records.map((record) => plainRecord(form, record)),
    wishes,
  );
  if (found === null || form !== "labelled") return found === null ? null : { ...found, form };
  const labels = labelsOf(records[found.bodyAt]!.text, found.delimiter);
  return { ...found, form, labels, header: labels.map(parseHeaderCell) };
}

/** A remark is no row, however many numbers it holds; `#1` could be one. */
function isFilled({ text }: HeadRecord): boolean {
  const first = text.trimStart()[0];
  if (first === undefined) return false;
  return !(first === "#" || first === "/" || first === "%") || !/^\s*(#|\/\/|%)\s*\p{L}/u.test(text);
}

const plainRecord = (form: RowForm, record: HeadRecord): HeadRecord => ({
  ...record,
  text: plainRow(form, record.text) ?? "",
});

function findPlainLayout(records: readonly HeadRecord[], wishes: LayoutWishes): Layout | null {
  const filled = records.filter(isFilled);
  const tail = filled.slice(-rowsCompared).map(({ text }) => text);
  const tabbed = sameTabs(tail);
  const dialects = dialectsTried(wishes, tail).flatMap((dialect) => {
    const fit = fitDialect(tail, dialect);
    if (fit === null) return [];
    const across = dialect.delimiter === " " && tabbed ? tabsCut : 1;
    return [{ ...fit, score: across * fit.score * headerAgreement(filled, dialect, fit) }];
  });
  dialects.sort((a, b) => b.score - a.score);
  const best = dialects[0];
  if (best === undefined) return null;
  return layOut(records, best, sureness(best, dialects));
}

/** Where every row has as many tabs, a blank parts no cells: `06:31:40 PM`. */
const tabsCut = 0.8;

/** All but a short row here and there. */
const nearlyAll = 0.8;

/** A preamble, which has tabs of its own, may stand before the rows, and words below them. */
function sameTabs(lines: readonly string[]): boolean {
  const tabs = lines.map((line) => line.split("\t").length - 1);
  const usual = tabs[tabs.length >> 1] ?? 0;
  const rows = tabs.slice(tabs.indexOf(usual), tabs.lastIndexOf(usual) + 1);
  return usual > 0 && rows.filter((count) => count === usual).length > nearlyAll * rows.length;
}

/** How far the best dialect stands above the next that cuts the rows into other cells. */
function sureness(best: Fit, dialects: readonly Fit[]): number {
  const rival = dialects.find(
    ({ dialect, columns }) => dialect.delimiter !== best.dialect.delimiter && columns.length !== best.columns.length,
  );
  return Math.max(0.5, Math.min(0.99, 1 - 0.5 * ((rival?.score ?? 0) / best.score) ** 4));
}

interface Dialect {
  readonly delimiter: string;
  readonly decimal: Decimal;
}

interface Fit {
  readonly dialect: Dialect;
  readonly columns: readonly ColumnKind[];
  readonly decimalSeen: boolean;
  readonly score: number;
}

function dialectsTried(wishes: LayoutWishes, lines: readonly string[]): Dialect[] {
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
    return { kind: basic ? "stamp" : "number", credit: doubtful, decimals: number.decimals > 0 };
  }
  if (number.kind === "gap") return { kind: "gap", credit: 1, decimals: false };
  if (parseStamp(cell) !== null) return { kind: "stamp", credit: 1, decimals: false };
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
  return filled.some(({ kind }) => kind === "number") && 3 * understood >= filled.length;
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
    const counted = kind === "gap" ? "number" : kind;
    if (counted !== "empty") counts.set(counted, (counts.get(counted) ?? 0) + 1);
  }
  return [...counts].sort((a, b) => b[1] - a[1])[0]?.[0] ?? "empty";
}

function rowFits(kinds: readonly CellKind[], columns: readonly ColumnKind[]): boolean {
  if (!kinds.includes("number") && !kinds.includes("gap")) return false;
  return columns.every((column, k) => {
    const kind = kinds[k] ?? "empty";
    if (kind === "empty" || column === "text" || column === "empty") return true;
    return kind === column || (kind === "gap" && (column === "number" || column === "unit"));
  });
}

/** A dialect that cuts the header into as many cells as the rows is the likelier one. */
function headerAgreement(records: readonly HeadRecord[], dialect: Dialect, fit: Fit): number {
  const at = records.findIndex(({ text }) => fitsRow(text, dialect, fit.columns));
  const above = records[at - 1];
  if (at <= 0 || above === undefined) return 1;
  return headerCells(above.text, dialect.delimiter, fit.columns.length) === null ? 0.85 : 1;
}

function fitsRow(text: string, dialect: Dialect, columns: readonly ColumnKind[]): boolean {
  const cells = splitCells(text, dialect.delimiter);
  if (trimmedWidth(cells) > columns.length || trimmedWidth(cells) < Math.min(columns.length, 2)) return false;
  return rowFits(
    cells.map((cell) => lookAtCell(cell, dialect.decimal).kind),
    columns,
  );
}

const trimmedWidth = (cells: readonly string[]): number => cells.findLastIndex((cell) => cell.trim() !== "") + 1;

function layOut(records: readonly HeadRecord[], fit: Fit, sure: number): Layout | null {
  const { dialect, columns } = fit;
  const bodyAt = findBody(records, dialect, columns);
  if (bodyAt < 0) return null;
  const above = headerAbove(records, bodyAt, dialect.delimiter, columns);
  const rows = records
    .slice(bodyAt, bodyAt + 200)
    .filter(({ text }) => fitsRow(text, dialect, columns))
    .map(({ text }) => splitCells(text, dialect.delimiter));
  return {
    ...dialect,
    decimalSeen: fit.decimalSeen,
    columns,
    header: above.header?.map(parseHeaderCell) ?? null,
    headerLine: above.headerLine,
    unitRow: above.unitRow,
    bodyAt,
    bodyLine: records[bodyAt]!.line,
    form: "plain",
    labels: null,
    preamble: records.slice(0, above.preambleEnd).map(({ text }) => text),
    rows,
    sure,
  };
}

/** The first row that fits and is followed by another that does: a lone number in the preamble begins no body. */
function findBody(records: readonly HeadRecord[], dialect: Dialect, columns: readonly ColumnKind[]): number {
  let first = -1;
  let filledSince = 0;
  for (let i = 0; i < records.length; i++) {
    const { text } = records[i]!;
    if (text.trim() === "") continue;
    filledSince++;
    if (!fitsRow(text, dialect, columns)) continue;
    if (first >= 0 && filledSince <= 2) return first;
    first = i;
    filledSince = 0;
  }
  return first;
}
