/**
 * How a log is laid out: delimiter, decimal sign, where the preamble ends, the header, and what each column holds.
 * Goes in: the first stretch of the file, cut into records. Comes out: the plan by which all its rows are read.
 */
import { splitCells } from "./delimited-text.ts";
import {
  type ColumnKind,
  type Dialect,
  type DialectWishes,
  type Fit,
  fitsRow,
  fittingDialects,
  sureness,
} from "./dialect.ts";
import { type HeaderCell, parseHeader } from "./header-cell.ts";
import { type Above, headerAbove, headerCells, namesColumn, widthOfWiderHeader } from "./header-row.ts";
import type { Decimal } from "./number-cell.ts";
import { formOfRows, labelsOf, plainRow, type RowForm } from "./row-form.ts";

export interface HeadRecord {
  readonly text: string;
  /** counted from 1 */
  readonly line: number;
  /** where its bytes begin in the head */
  readonly offset: number;
  readonly unclosed: boolean;
}

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

/** Rows from the end of the head by which dialects are compared: the body is surest to be found there. */
const rowsCompared = 80;

/** @returns null where no run of rows with numbers is found */
export function findLayout(records: readonly HeadRecord[], wishes: DialectWishes): Layout | null {
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
  return { ...found, form, labels, header: parseHeader(labels) };
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

function findPlainLayout(records: readonly HeadRecord[], wishes: DialectWishes): Layout | null {
  const filled = records.filter(isFilled);
  const tail = filled.slice(-rowsCompared).map(({ text }) => text);
  const dialects = fittingDialects(tail, wishes).map((fit) => ({
    ...fit,
    score: fit.score * headerAgreement(filled, fit.dialect, fit),
  }));
  dialects.sort((a, b) => b.score - a.score);
  const best = dialects[0];
  if (best === undefined) return null;
  return layOut(records, best, sureness(best, dialects));
}

/** A dialect that cuts the header into as many cells as the rows is the likelier one. */
function headerAgreement(records: readonly HeadRecord[], dialect: Dialect, fit: Fit): number {
  const at = records.findIndex(({ text }) => fitsRow(text, dialect, fit.columns));
  const above = records[at - 1];
  if (at <= 0 || above === undefined) return 1;
  return headerCells(above.text, dialect.delimiter, fit.columns.length) === null ? 0.85 : 1;
}

function layOut(records: readonly HeadRecord[], fit: Fit, sure: number): Layout | null {
  const { dialect } = fit;
  let { columns } = fit;
  let firstFit = findBody(records, dialect, columns);
  if (firstFit < 0) return null;
  let above = headedAbove(records, firstFit, dialect, columns);
  const wider = above.header === null ? widthOfWiderHeader(records, firstFit, dialect.delimiter, columns) : null;
  if (wider !== null) {
    columns = [...columns, ...Array.from({ length: wider - columns.length }, () => "empty" as const)];
    firstFit = findBody(records, dialect, columns);
    above = headedAbove(records, firstFit, dialect, columns);
  }
  const { bodyAt } = above;
  const rows = records
    .slice(bodyAt, bodyAt + 200)
    .filter(({ text }) => fitsRow(text, dialect, columns))
    .map(({ text }) => splitCells(text, dialect.delimiter));
  return {
    ...dialect,
    decimalSeen: fit.decimalSeen,
    columns,
    header: above.header === null ? null : parseHeader(above.header),
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

/** So many rows a table in a preamble may have. */
const longestTable = 300;

/** A table of numbers without names may stand in the preamble: the body is then below the first header that names columns. */
function headedAbove(
  records: readonly HeadRecord[],
  firstFit: number,
  { delimiter, decimal }: Dialect,
  columns: readonly ColumnKind[],
): Above {
  const above = headerAbove(records, firstFit, delimiter, columns);
  if (above.header?.some(namesColumn)) return above;
  const end = Math.min(records.length, firstFit + longestTable);
  for (let i = firstFit + 1, fitted = true; i < end; i++) {
    const before = fitted;
    fitted = fitsRow(records[i]!.text, { delimiter, decimal }, columns);
    if (before || !fitted) continue;
    const later = headerAbove(records, i, delimiter, columns);
    if (later.preambleEnd > firstFit && later.header?.some(namesColumn)) return later;
  }
  return above;
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
