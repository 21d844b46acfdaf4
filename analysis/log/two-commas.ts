/**
 * A comma between the cells and a comma in the numbers: `0,12,55` under `Time,Voltage`. Which comma is which cannot be
 * told row by row (12 V has none), and the halves read as columns of their own would be wrong volts.
 */
import { Problem } from "../problem.ts";
import type { Layout } from "./layout.ts";
import type { Unit } from "./unit.ts";

/** @throws {Problem} where the rows have a cell more than the header, and two of their cells can be the halves of one number */
export function refuseTwoCommas(file: string, layout: Layout): void {
  const { delimiter, header, columns, rows } = layout;
  if (delimiter !== "," || header === null || header.at(-1)?.text !== "" || columns.at(-1) === "empty") return;
  const halved = columns.findLastIndex((_, k) => k > 0 && rows.every((row) => areHalves(row[k - 1], row[k])));
  if (halved < 0) return;
  const shown = `${rows[0]![halved - 1]},${rows[0]![halved]}`;
  throw new Problem(
    `a comma seems to stand between the cells and in the numbers (${shown}): the rows have more cells than the header; the log should be exported with another delimiter or with a decimal point`,
    { file, line: layout.bodyLine, column: halved },
  );
}

/**
 * `"12,610"` between commas in millivolts could be 12.61 mV or 12.61 V, and both are met; in volts only the one is.
 * @throws {Problem} where every number of the column is so written
 */
export function refuseThousands(file: string, layout: Layout, column: number, unit: Unit): void {
  if (layout.delimiter !== "," || layout.decimal !== "," || unit.divide !== 1000) return;
  const cells = layout.rows.map((row) => (row[column] ?? "").trim()).filter((cell) => /\d/.test(cell));
  if (cells.length === 0 || !cells.every((cell) => /^[+-]?[1-9]\d{0,2},\d{3}\b/.test(cell))) return;
  const number = cells[0]!.replace(/^([+-]?\d+,\d+).*$/, "$1");
  throw new Problem(
    `${number} could be ${number.replace(",", ".")} or ${number.replace(",", "")} ${unit.text}; 'decimal' should say which sign stands before the decimals`,
    { file, line: layout.bodyLine, column: layout.header?.[column]?.text || column + 1, field: "decimal" },
  );
}

const areHalves = (whole = "", part = ""): boolean => /^\s*[+-]?\d+$/.test(whole) && /^\d{1,4}\s*$/.test(part);
