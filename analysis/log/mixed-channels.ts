/**
 * Channels that share one column and take turns row by row, named in a column beside: read as one they would be a
 * signal that jumps. Rows of another unit are left out anyway; those of the same unit cannot be told apart.
 */
import { Problem } from "../problem.ts";
import type { Layout } from "./layout.ts";
import { type NumberCell, parseNumberCell } from "./number-cell.ts";
import { parseUnit } from "./unit.ts";

const mostChannels = 16;
const leastRows = 8;
/** Within a channel the values move by less than this share of what they move from row to row. */
const calmShare = 0.2;

/**
 * @param column that was chosen, counted from 0
 * @throws {Problem} that names the channels found
 */
export function refuseMixedChannels(
  file: string,
  layout: Layout,
  column: number,
  clockColumns: ReadonlySet<number>,
): void {
  const rows = layout.rows.flatMap((row) => {
    const cell = parseNumberCell(row[column] ?? "", layout.decimal);
    return cell.kind === "number" ? [{ row, value: cell.value, unit: unitIn(row, cell) }] : [];
  });
  const units = new Set(rows.map(({ unit }) => unit));
  if (rows.length < leastRows || units.size > 1) return;
  const namesAt = layout.columns.findIndex(
    (kind, k) =>
      kind === "text" && !clockColumns.has(k) && takeTurns(rows.map(({ row, value }) => [row[k] ?? "", value])),
  );
  if (namesAt < 0) return;
  const names = [...new Set(rows.map(({ row }) => row[namesAt]!.trim()))];
  throw new Problem(
    `channels take turns in this column (${names.slice(0, 4).join(", ")}); the log should have a column for each`,
    { file, line: layout.bodyLine, column: layout.header?.[column]?.text || column + 1 },
  );
}

/** The row's units as they stand in it: where they change, rows are told apart by them. */
const unitIn = (row: readonly string[], cell: NumberCell): string =>
  [cell.kind === "number" ? (cell.unit?.text ?? "") : "", ...row.filter((text) => parseUnit(text) !== null)].join(" ");

/** Whether the names recur in one order, row by row, and the values belong to the names rather than to the rows before them. */
function takeTurns(rows: readonly (readonly [string, number])[]): boolean {
  const channels = new Set(rows.map(([name]) => name)).size;
  if (channels < 2 || channels > mostChannels || rows.length < 3 * channels) return false;
  if (rows.some(([name], i) => i >= channels && name !== rows[i - channels]![0])) return false;
  const moves = (apart: number): number =>
    rows.slice(apart).reduce((sum, [, value], i) => sum + Math.abs(value - rows[i]![1]), 0) / (rows.length - apart);
  return moves(channels) < calmShare * moves(1);
}
