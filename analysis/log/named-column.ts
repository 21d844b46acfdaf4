/**
 * The columns of a log by their names and numbers.
 */
import { Problem } from "../problem.ts";
import type { Layout } from "./layout.ts";

/** Indices of the columns that a job's word fits: header text as it stands, then without regard to case and unit, then a number from 1. */
export function findColumns(layout: Layout, wanted: string | number): number[] {
  const header = layout.header?.map(({ text }) => text) ?? [];
  if (typeof wanted === "string") {
    const plain = (text: string): string => text.normalize("NFKC").toLowerCase().replace(/\s+/g, " ").trim();
    const bare = (text: string): string => plain(text).replace(/\s*[([].*$/, "");
    for (const form of [(text: string) => text, plain, bare]) {
      const found = header.flatMap((text, k) => (form(text) === form(wanted) && form(wanted) !== "" ? [k] : []));
      if (found.length > 0) return found;
    }
  }
  const number = typeof wanted === "number" ? wanted : /^\d+$/.test(wanted.trim()) ? Number(wanted) : 0;
  return number >= 1 && number <= layout.columns.length ? [number - 1] : [];
}

/** @throws {Problem} that gives their numbers where several columns have the name */
export function columnsAlike(file: string, layout: Layout, wanted: string | number, found: readonly number[]): Problem {
  const numbers = found.map((column) => column + 1).join(", ");
  return new Problem(
    `${found.length} columns have this name; 'column' should be the number of the one meant: ${numbers}`,
    {
      file,
      line: layout.headerLine ?? layout.bodyLine,
      column: wanted,
    },
  );
}

/** @throws {Problem} that lists the columns there are */
export function columnNotFound(file: string, layout: Layout, wanted: string | number): Problem {
  return new Problem(`there is no such column; the log has ${listColumns(layout)}`, {
    file,
    line: layout.headerLine ?? layout.bodyLine,
    column: wanted,
  });
}

/** Whole numbers that count 1, 2, 3: the first column of many exports. Here and there a row may be missing. */
export function countsRows({ rows }: Layout, column: number): boolean {
  const numbers = rows.slice(0, 20).map((row) => Number(row[column]));
  const steps = numbers.slice(1).map((number, i) => number - numbers[i]!);
  return (
    numbers.length > 2 &&
    numbers.every(Number.isInteger) &&
    steps.every((step) => step > 0) &&
    steps.filter((step) => step === 1).length > 0.6 * steps.length
  );
}

export const listColumns = (layout: Layout): string => listNames(layout.columns.map((_, k) => columnName(layout, k)));

/** What a column is called where something is said of it. */
export function columnName({ header }: Layout, column: number): string {
  const text = header?.[column]?.text;
  return text ? `'${text}'` : `column ${column + 1}`;
}

/** A dozen of them: more help nobody. */
export const listNames = (names: readonly string[]): string =>
  names.length > 12 ? `${names.slice(0, 12).join(", ")} and ${names.length - 12} more` : names.join(", ");
