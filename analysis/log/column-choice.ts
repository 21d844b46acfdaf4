/**
 * Which column of a log a recording means, and where its unit stands.
 * The job's word comes first, then the units, then the words of the header; where nothing decides, a Problem asks.
 */
import type { Recording } from "../job/job.ts";
import { Problem } from "../problem.ts";
import { extremesBeside } from "./extremes-beside.ts";
import type { HeaderCell } from "./header-cell.ts";
import type { Layout } from "./layout.ts";
import {
  columnName,
  columnNotFound,
  columnsAlike,
  countsRows,
  findColumns,
  listColumns,
  listNames,
} from "./named-column.ts";
import { parseNumberCell } from "./number-cell.ts";
import type { Decision } from "./sample.ts";
import { StatedUnits } from "./stated-units.ts";
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
    ...extremesBeside(layout, pick.column, table.units),
    decisions: [...pick.decisions, unit.decision],
    warnings: [...pick.warnings, ...unit.warnings],
  };
}

interface Pick {
  readonly column: number;
  readonly decisions: readonly Decision[];
  readonly warnings: readonly string[];
}

class Table {
  readonly #file: string;
  readonly #layout: Layout;
  readonly #recording: Recording;
  readonly #clockColumns: ReadonlySet<number>;
  readonly #preambleUnit: Unit | null;
  readonly units: StatedUnits;

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
    this.units = new StatedUnits(layout, recording.quantity, clockColumns);
  }

  unitColumnOf(column: number): number | null {
    return this.units.columnOf(column);
  }

  header(column: number): HeaderCell | undefined {
    return this.#layout.header?.[column];
  }

  named(wanted: string | number): Pick {
    const found = findColumns(this.#layout, wanted);
    // Of two columns of one name the recording can mean only the one in its quantity.
    const measured = found.filter((k) => this.units.measures(k) === this.#recording.quantity);
    const [column] = measured.length === 1 ? measured : found;
    if (column === undefined) throw columnNotFound(this.#file, this.#layout, wanted);
    if (found.length > 1 && measured.length !== 1) throw columnsAlike(this.#file, this.#layout, wanted, found);
    this.#refuseWords(column);
    return {
      column,
      decisions: [{ what: "column", value: String(wanted), evidence: "the job says so", sure: 1 }],
      warnings: [],
    };
  }

  /** A column that the job names by mistake: of stamps, of words. */
  #refuseWords(column: number): void {
    const kind = this.#layout.columns[column]!;
    const cell = this.#layout.rows.map((row) => (row[column] ?? "").trim()).find((text) => text !== "");
    if ((kind !== "stamp" && kind !== "text") || cell === undefined) return;
    if (this.#layout.rows.some((row) => parseNumberCell(row[column] ?? "", this.#layout.decimal).kind === "number"))
      return;
    throw new Problem(
      `this column holds '${cell.slice(0, 40)}' in its first row, which is no number; the log has ${listColumns(this.#layout)}`,
      { file: this.#file, line: this.#layout.bodyLine, column: this.header(column)?.text || column + 1 },
    );
  }

  /** The column of the recording's quantity; of several, the one that is no extreme and no mean. */
  pick(): Pick {
    const { quantity } = this.#recording;
    const candidates = this.#candidates();
    const measured = candidates.filter((column) => this.units.measures(column) === quantity);
    const direct = measured.filter((column) => !this.units.of(column)?.alternating);
    const known = direct.length > 0 ? direct : measured;
    const unknown = candidates.filter((column) => this.units.measures(column) === null);
    const wanted = known.length > 0 ? known : unknown;
    if (wanted.length === 0) throw this.#noColumn(candidates);
    const ranked = this.#plainest(wanted);
    if (ranked.length === 1) return this.#picked(ranked[0]!, known.length > 0 ? 0.97 : 0.75);
    const matching = this.#namedLikeProbes(ranked);
    if (matching !== null) return this.#guessed(matching, ranked);
    throw new Problem(
      `${ranked.length} columns could hold ${quantity}: ${listNames(ranked.map((column) => this.#name(column)))}; the recording should say which in 'column'`,
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
        !(this.units.measures(column) === null && countsRows(this.#layout, column))
        ? [column]
        : [];
    });
  }

  #plainest(columns: readonly number[]): number[] {
    const ranks = columns.map((column) => {
      const role = this.header(column)?.role ?? "value";
      return role === "value" ? 0 : role === "mean" ? 1 : role === "spread" ? 3 : 2;
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
    return columnName(this.#layout, column);
  }

  #noColumn(candidates: readonly number[]): Problem {
    const { quantity } = this.#recording;
    const found = candidates.map((column) => {
      const unit = this.units.of(column);
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
    const column = this.#layout.columns.findIndex((kind, k) => kind === "text" && this.units.measures(k) === quantity);
    const cell = this.#layout.rows[0]?.[column]?.trim().replace(/\s+/g, " ").slice(0, 40);
    return cell === undefined ? null : `${this.#name(column)} holds '${cell}' in the first row, which is no number`;
  }

  /** The unit of a column's bare numbers. A wrong one is refused by name, and so is AC. */
  unitOf(column: number, unitColumn: number | null): { unit: Unit; decision: Decision; warnings: string[] } {
    const { quantity } = this.#recording;
    if (this.#recording.unit !== undefined) return this.#unitOfJob(this.#recording.unit);
    const stated =
      this.units.of(column, unitColumn) ?? (this.#preambleUnit?.quantity === quantity ? this.#preambleUnit : null);
    if (stated !== null) this.#refuseOther(column, stated);
    else this.#refuseNamedOther(column);
    if (this.units.saysAlternating(column))
      this.#refuseOther(column, { ...plainUnit(quantity), text: "AC", alternating: true });
    const own = this.units.above(column);
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
      throw new Problem(
        `'unit' should be a unit of ${this.#recording.quantity}, as ${this.#recording.quantity === "volts" ? "V or mV" : "A or mA"}; got '${text}'`,
        {
          file: this.#file,
          field: "unit",
        },
      );
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
}
