/**
 * Which column of a log a recording means, and where its unit stands.
 * The job's word comes first, then the units, then the words of the header; where nothing decides, a Problem asks.
 */
import type { Recording } from "../job/job.ts";
import { Problem } from "../problem.ts";
import type { HeaderCell } from "./header-cell.ts";
import type { Layout } from "./layout.ts";
import { parseNumberCell } from "./number-cell.ts";
import type { Decision } from "./sample.ts";
import { parseUnit, plainUnit, type Unit } from "./unit.ts";

export interface ChosenColumn {
  /** counted from 0 */
  readonly column: number;
  /** what `Samples.column` echoes */
  readonly shown: string | number;
  /** unit of numbers that have none beside them */
  readonly unit: Unit;
  /** whether the file or the job states it */
  readonly unitStated: boolean;
  /** the job's unit overrides what stands beside the number */
  readonly unitForced: boolean;
  /** column that names the unit row by row, or null */
  readonly unitColumn: number | null;
  /** least and greatest of the interval that the value stands for, where the meter writes them */
  readonly lowestColumn: number | null;
  readonly highestColumn: number | null;
  readonly decisions: readonly Decision[];
  readonly warnings: readonly string[];
}

export function chooseColumn(
  file: string,
  layout: Layout,
  recording: Recording,
  clockColumns: ReadonlySet<number>,
  preambleUnit: Unit | null,
): ChosenColumn {
  const table = new Table(file, layout, recording, clockColumns, preambleUnit);
  const pick = recording.column === undefined ? table.pick() : table.named(recording.column);
  const unitColumn = table.unitColumnOf(pick.column);
  const unit = table.unitOf(pick.column, unitColumn);
  return {
    column: pick.column,
    shown: recording.column ?? (table.header(pick.column)?.text || pick.column + 1),
    unit: unit.unit,
    unitStated: unit.decision.sure > 0.95,
    unitForced: recording.unit !== undefined,
    unitColumn,
    ...table.extremesOf(pick.column),
    decisions: [...pick.decisions, unit.decision],
    warnings: [...pick.warnings, ...unit.warnings],
  };
}

interface Pick {
  readonly column: number;
  readonly decisions: readonly Decision[];
  readonly warnings: readonly string[];
}

/** Index of the column that a job names: header text as it stands, then without regard to case and unit, then a number from 1; −1: none. */
export function findColumn(layout: Layout, wanted: string | number): number {
  const header = layout.header?.map(({ text }) => text) ?? [];
  if (typeof wanted === "string") {
    const plain = (text: string): string => text.toLowerCase().replace(/\s+/g, " ").trim();
    const bare = (text: string): string => plain(text).replace(/\s*[([].*$/, "");
    for (const form of [(text: string) => text, plain, bare]) {
      const found = header.map(form).indexOf(form(wanted));
      if (found >= 0 && form(wanted) !== "") return found;
    }
  }
  const number = typeof wanted === "number" ? wanted : /^\d+$/.test(wanted.trim()) ? Number(wanted) : 0;
  return number >= 1 && number <= layout.columns.length ? number - 1 : -1;
}

/** @throws {Problem} that lists the columns there are */
export function columnNotFound(file: string, layout: Layout, wanted: string | number): Problem {
  return new Problem(`there is no such column; the log has ${listColumns(layout)}`, {
    file,
    line: layout.headerLine ?? layout.bodyLine,
    column: wanted,
  });
}

/** Whole numbers that count 1, 2, 3: the first column of many exports. */
export function countsRows({ rows }: Layout, column: number): boolean {
  const numbers = rows.slice(0, 20).map((row) => Number(row[column]));
  return (
    numbers.length > 2 &&
    numbers.every((number, i) => Number.isInteger(number) && (i === 0 || number === numbers[i - 1]! + 1))
  );
}

export function listColumns(layout: Layout): string {
  const names = layout.columns.map((_, k) =>
    layout.header?.[k]?.text ? `'${layout.header[k].text}'` : `column ${k + 1}`,
  );
  return names.length > 12 ? `${names.slice(0, 12).join(", ")} and ${names.length - 12} more` : names.join(", ");
}

class Table {
  readonly #file: string;
  readonly #layout: Layout;
  readonly #recording: Recording;
  readonly #clockColumns: ReadonlySet<number>;
  readonly #preambleUnit: Unit | null;

  constructor(
    file: string,
    layout: Layout,
    recording: Recording,
    clockColumns: ReadonlySet<number>,
    preambleUnit: Unit | null,
  ) {
    this.#file = file;
    this.#layout = layout;
    this.#recording = recording;
    this.#clockColumns = clockColumns;
    this.#preambleUnit = preambleUnit;
  }

  header(column: number): HeaderCell | undefined {
    return this.#layout.header?.[column];
  }

  named(wanted: string | number): Pick {
    const column = findColumn(this.#layout, wanted);
    if (column < 0) throw columnNotFound(this.#file, this.#layout, wanted);
    return {
      column,
      decisions: [{ what: "column", value: String(wanted), evidence: "the job says so", sure: 1 }],
      warnings: [],
    };
  }

  /** The column of the recording's quantity; of several, the one that is no extreme and no mean. */
  pick(): Pick {
    const { quantity } = this.#recording;
    const candidates = this.#candidates();
    const measured = candidates.filter((column) => this.#measures(column) === quantity);
    const direct = measured.filter((column) => !this.#statedUnit(column, this.unitColumnOf(column))?.alternating);
    const known = direct.length > 0 ? direct : measured;
    const unknown = candidates.filter((column) => this.#measures(column) === null);
    const wanted = known.length > 0 ? known : unknown;
    if (wanted.length === 0) throw this.#noColumn(candidates);
    const ranked = this.#plainest(wanted);
    if (ranked.length === 1) return this.#picked(ranked[0]!, known.length > 0 ? 0.97 : 0.75);
    const matching = this.#namedLikeProbes(ranked);
    if (matching !== null) return this.#guessed(matching, ranked);
    throw new Problem(
      `${ranked.length} columns could hold ${quantity}: ${ranked.map((column) => this.#name(column)).join(", ")}; the recording should say which in 'column'`,
      { file: this.#file, line: this.#layout.headerLine ?? this.#layout.bodyLine, field: "column" },
    );
  }

  #candidates(): number[] {
    const { columns } = this.#layout;
    return columns.flatMap((kind, column) => {
      const role = this.header(column)?.role;
      const isValue = kind === "number" && role !== "index" && role !== "time" && role !== "unit";
      return isValue &&
        !this.#clockColumns.has(column) &&
        !(this.#layout.header === null && countsRows(this.#layout, column))
        ? [column]
        : [];
    });
  }

  /** What a column measures, as far as units and words tell. */
  #measures(column: number): "volts" | "amps" | "other" | null {
    const stated = this.#statedUnit(column, this.unitColumnOf(column));
    if (stated !== null) return stated.quantity === "seconds" ? "other" : stated.quantity;
    return this.header(column)?.named ?? null;
  }

  /** The unit that the file states for a column: its own cell, the unit row, the unit column, or beside the numbers. */
  #statedUnit(column: number, unitColumn: number | null): Unit | null {
    const wanted = this.#recording.quantity;
    const inRow = this.#layout.unitRow === null ? null : parseUnit(this.#layout.unitRow[column] ?? "");
    const units = [this.header(column)?.unit ?? null, inRow, ...this.#unitsInRows(column, unitColumn)].filter(
      (unit) => unit !== null,
    );
    return units.find(({ quantity }) => quantity === wanted) ?? units[0] ?? null;
  }

  #unitsInRows(column: number, unitColumn: number | null): (Unit | null)[] {
    return this.#layout.rows.flatMap((row) => {
      const cell = parseNumberCell(row[column] ?? "", this.#layout.decimal);
      const beside = cell.kind === "number" ? cell.unit : null;
      return [beside, unitColumn === null ? null : parseUnit(row[unitColumn] ?? "")];
    });
  }

  /** The nearest column of units to the right, before the next number; else one just to the left. */
  unitColumnOf(column: number): number | null {
    const { columns } = this.#layout;
    let found: number | null = null;
    for (let k = column + 1; k < columns.length && columns[k] !== "number" && columns[k] !== "stamp"; k++) {
      if (columns[k] !== "unit") continue;
      if (found === null || /unit|einheit|unit[éà]|unidad/i.test(this.header(k)?.text ?? "")) found = k;
    }
    return found ?? (columns[column - 1] === "unit" && !this.#isValue(column - 2) ? column - 1 : null);
  }

  /** Whether a column holds numbers that may need a unit, other than the time. */
  #isValue(column: number): boolean {
    const role = this.header(column)?.role;
    return (
      this.#layout.columns[column] === "number" &&
      !this.#clockColumns.has(column) &&
      role !== "time" &&
      role !== "index"
    );
  }

  #plainest(columns: readonly number[]): number[] {
    const ranks = columns.map((column) => {
      const role = this.header(column)?.role ?? "value";
      return role === "value" ? 0 : role === "mean" ? 1 : 2;
    });
    const best = Math.min(...ranks);
    return columns.filter((_, i) => ranks[i] === best);
  }

  #picked(column: number, sure: number): Pick {
    const { quantity } = this.#recording;
    const evidence =
      sure > 0.9
        ? `the only column in ${quantity}`
        : `the only column of numbers; nothing in the file says that it is in ${quantity}`;
    return { column, decisions: [{ what: "column", value: this.#name(column), evidence, sure }], warnings: [] };
  }

  #guessed(column: number, rivals: readonly number[]): Pick {
    const others = rivals.filter((rival) => rival !== column).map((rival) => this.#name(rival));
    return {
      column,
      decisions: [
        {
          what: "column",
          value: this.#name(column),
          evidence: "its header is named like the points of the recording",
          sure: 0.8,
        },
      ],
      warnings: [
        `column ${this.#name(column)} was taken since its header is named like the recording's points; ${others.join(", ")} could be meant too: 'column' says which`,
      ],
    };
  }

  /** The one header that shares words with `from`, `to` or `through` where the others share fewer. */
  #namedLikeProbes(columns: readonly number[]): number | null {
    const { from = "", to = "", through = "" } = this.#recording;
    const words = (text: string): string[] => text.toLowerCase().match(/\p{L}{3,}/gu) ?? [];
    const sought = new Set(words(`${from} ${to} ${through}`));
    const scores = columns.map(
      (column) => words(this.header(column)?.text ?? "").filter((word) => sought.has(word)).length,
    );
    const best = Math.max(...scores);
    return best > 0 && scores.filter((score) => score === best).length === 1 ? columns[scores.indexOf(best)]! : null;
  }

  #name(column: number): string {
    return this.header(column)?.text ? `'${this.header(column)!.text}'` : `column ${column + 1}`;
  }

  #noColumn(candidates: readonly number[]): Problem {
    const { quantity } = this.#recording;
    const found = candidates.map((column) => {
      const unit = this.#statedUnit(column, this.unitColumnOf(column));
      return unit === null ? this.#name(column) : `${this.#name(column)} in ${unit.text}`;
    });
    const seen =
      this.#wordsFor(quantity) ??
      (found.length === 0 ? `the log has ${listColumns(this.#layout)}` : `found ${found.join(", ")}`);
    return new Problem(`the log should have a column in ${quantity}; ${seen}`, {
      file: this.#file,
      line: this.#layout.headerLine ?? this.#layout.bodyLine,
    });
  }

  /** A column that is headed as it should be, and holds no numbers. */
  #wordsFor(quantity: string): string | null {
    const column = this.#layout.columns.findIndex((kind, k) => kind === "text" && this.#measures(k) === quantity);
    const cell = this.#layout.rows[0]?.[column]?.trim().replace(/\s+/g, " ").slice(0, 40);
    return cell === undefined ? null : `${this.#name(column)} holds '${cell}' in the first row, which is no number`;
  }

  /** The unit of a column's bare numbers. A wrong one is refused by name, and so is AC. */
  unitOf(column: number, unitColumn: number | null): { unit: Unit; decision: Decision; warnings: string[] } {
    const { quantity } = this.#recording;
    if (this.#recording.unit !== undefined) return this.#unitOfJob(this.#recording.unit);
    const stated =
      this.#statedUnit(column, unitColumn) ?? (this.#preambleUnit?.quantity === quantity ? this.#preambleUnit : null);
    if (stated !== null) this.#refuseOther(column, stated);
    else this.#refuseNamedOther(column);
    if (this.#saysAlternating(column))
      this.#refuseOther(column, { ...plainUnit(quantity), text: "AC", alternating: true });
    const own =
      this.header(column)?.unit ??
      (this.#layout.unitRow === null ? null : parseUnit(this.#layout.unitRow[column] ?? ""));
    const unit =
      own?.quantity === quantity
        ? own
        : stated !== null && this.#preambleUnit === stated
          ? stated
          : plainUnit(quantity);
    const sure = stated !== null ? 0.99 : this.header(column)?.named === quantity ? 0.9 : 0.7;
    const evidence =
      stated !== null ? `'${stated.text}' stands in the file` : "no unit stands in the file; SI is taken";
    return { unit, decision: { what: "unit", value: (stated ?? unit).text, evidence, sure }, warnings: [] };
  }

  #unitOfJob(text: string): { unit: Unit; decision: Decision; warnings: string[] } {
    const unit = parseUnit(text);
    if (unit === null || unit.quantity !== this.#recording.quantity) {
      throw new Problem(`'unit' should be a unit of ${this.#recording.quantity}, as V, mV, A or mA; got '${text}'`, {
        file: this.#file,
        field: "unit",
      });
    }
    return { unit, decision: { what: "unit", value: unit.text, evidence: "the job says so", sure: 1 }, warnings: [] };
  }

  #refuseOther(column: number, unit: Unit): void {
    const { quantity } = this.#recording;
    const place = {
      file: this.#file,
      line: this.#layout.headerLine ?? this.#layout.bodyLine,
      column: this.header(column)?.text || column + 1,
    };
    if (unit.quantity !== quantity) {
      throw new Problem(
        `the recording is of ${quantity}, and this column is in ${unit.text}; it should be in ${quantity === "volts" ? "V, mV or µV" : "A, mA or µA"}`,
        place,
      );
    }
    if (unit.alternating)
      throw new Problem(`this column holds AC (${unit.text}); a supply's DC ${quantity} should be logged`, place);
  }

  #refuseNamedOther(column: number): void {
    const named = this.header(column)?.named;
    const { quantity, column: chosen } = this.#recording;
    if (chosen !== undefined || named === null || named === undefined || named === quantity) return;
    throw new Problem(
      `the recording is of ${quantity}, and this column is named for something else; 'column' or 'unit' should say what is meant`,
      {
        file: this.#file,
        line: this.#layout.headerLine ?? this.#layout.bodyLine,
        column: this.header(column)!.text,
      },
    );
  }

  /** A text column of modes, `AC` in each row. */
  #saysAlternating(column: number): boolean {
    const { columns, rows } = this.#layout;
    const near = columns.flatMap((kind, k) =>
      (kind === "text" || kind === "unit") && this.#ownerOf(k) === column ? [k] : [],
    );
    return near.some((k) => {
      const cells = rows.map((row) => (row[k] ?? "").trim());
      const alternating = cells.filter(
        (cell) => /^(AC|~|AC ?\+ ?DC)$/i.test(cell) || parseUnit(cell)?.alternating === true,
      ).length;
      return alternating > cells.length / 2;
    });
  }

  #ownerOf(textColumn: number): number {
    const { columns } = this.#layout;
    const left = columns.findLastIndex((kind, k) => k < textColumn && kind === "number" && !this.#clockColumns.has(k));
    return left >= 0
      ? left
      : columns.findIndex((kind, k) => k > textColumn && kind === "number" && !this.#clockColumns.has(k));
  }

  /** Minimum and maximum columns beside a value: those up to the next plain value column, of the same quantity. */
  extremesOf(column: number): { lowestColumn: number | null; highestColumn: number | null } {
    const values = this.#layout.columns.flatMap((_, k) =>
      this.header(k)?.role === "value" && this.#measures(k) === this.#measures(column) ? [k] : [],
    );
    const alone = values.length <= 1;
    const end = values.find((k) => k > column) ?? this.#layout.columns.length;
    const of = (role: string): number | null => {
      const found = this.#layout.columns.findIndex(
        (kind, k) =>
          kind === "number" && k !== column && this.header(k)?.role === role && (alone || (k > column && k < end)),
      );
      return found >= 0 && this.#measures(found) !== "other" ? found : null;
    };
    return { lowestColumn: of("lowest"), highestColumn: of("highest") };
  }
}
