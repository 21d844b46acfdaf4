/**
 * A comma between the cells and a comma in the numbers: `0,12,55` under `Time,Voltage`. Which comma is which cannot be
 * told row by row (12 V has none), and the halves read as columns of their own would be wrong volts.
 */
import { Problem } from "../problem.ts";
import type { Layout } from "./layout.ts";

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

const areHalves = (whole = "", part = ""): boolean => /^\s*[+-]?\d+$/.test(whole) && /^\d{1,4}\s*$/.test(part);
