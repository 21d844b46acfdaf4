/**
 * The units that a log states for its columns: in the header, in a row below it, in a column beside, or beside each number.
 */
import type { HeaderCell } from "./header-cell.ts";
import type { Layout } from "./layout.ts";
import { parseNumberCell } from "./number-cell.ts";
import { parseUnit, type Unit } from "./unit.ts";

export class StatedUnits {
  readonly #layout: Layout;
  readonly #quantity: "volts" | "amps";
  readonly #clockColumns: ReadonlySet<number>;

  /** @param quantity wanted: where units differ from row to row, its own count */
  constructor(layout: Layout, quantity: "volts" | "amps", clockColumns: ReadonlySet<number>) {
    this.#layout = layout;
    this.#quantity = quantity;
    this.#clockColumns = clockColumns;
  }

  /** What a column measures, as far as units and words tell. */
  measures(column: number): "volts" | "amps" | "other" | null {
    const stated = this.of(column);
    if (stated !== null) return stated.quantity === "seconds" ? "other" : stated.quantity;
    return this.#header(column)?.named ?? null;
  }

  /** The unit that the file states for a column: its own cell, the unit row, the unit column, or beside the numbers. */
  of(column: number, unitColumn = this.columnOf(column)): Unit | null {
    const units = [this.above(column), ...this.#unitsInRows(column, unitColumn)].filter((unit) => unit !== null);
    return units.find(({ quantity }) => quantity === this.#quantity) ?? units[0] ?? null;
  }

  /** A row of units stands above what the names look like: `Set A` over `mV` names a channel, `Load volts` a quantity. */
  above(column: number): Unit | null {
    return parseUnit(this.#layout.unitRow?.[column] ?? "") ?? this.#header(column)?.unit ?? null;
  }

  #unitsInRows(column: number, unitColumn: number | null): (Unit | null)[] {
    return this.#layout.rows.flatMap((row) => {
      const cell = parseNumberCell(row[column] ?? "", this.#layout.decimal);
      const beside = cell.kind === "number" ? cell.unit : null;
      return [beside, unitColumn === null ? null : parseUnit(row[unitColumn] ?? "")];
    });
  }

  /** The nearest column of units to the right, before the next number; else one just to the left. */
  columnOf(column: number): number | null {
    const { columns } = this.#layout;
    let found: number | null = null;
    for (let k = column + 1; k < columns.length && columns[k] !== "number" && columns[k] !== "stamp"; k++) {
      if (columns[k] !== "unit" || this.#holdsFlags(k, column)) continue;
      if (found === null || /unit|einheit|unit[éà]|unidad/i.test(this.#header(k)?.text ?? "")) found = k;
    }
    return found ?? (columns[column - 1] === "unit" && !this.#isValue(column - 2) ? column - 1 : null);
  }

  /** `H` under `Hold` and `A` under `Mode`: lone letters that contradict the unit above the numbers, or are units that no log of ours has. */
  #holdsFlags(unitColumn: number, column: number): boolean {
    if (/^(u$|u?nit|einheit|eenheid)|^$/i.test(this.#header(unitColumn)?.text ?? "")) return false;
    const units = this.#layout.rows.flatMap((row) => parseUnit(row[unitColumn] ?? "") ?? []);
    if (units.some(({ text }) => text.length > 1)) return false;
    const above = this.above(column)?.quantity;
    return units.every(({ quantity }) =>
      above === undefined ? quantity !== "volts" && quantity !== "amps" : quantity !== above,
    );
  }

  /** Whether a column holds numbers that may need a unit, other than the time. */
  #isValue(column: number): boolean {
    const role = this.#header(column)?.role;
    return (
      this.#layout.columns[column] === "number" &&
      !this.#clockColumns.has(column) &&
      role !== "time" &&
      role !== "index"
    );
  }

  /** A text column of modes, `AC` in each row. */
  saysAlternating(column: number): boolean {
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

  #header(column: number): HeaderCell | undefined {
    return this.#layout.header?.[column];
  }
}
