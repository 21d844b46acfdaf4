/**
 * One recording's column as it fills, row by row; and the rows that share one clock.
 * A gap is kept as NaN in its row, so that all channels of a clock stay in step; gaps are taken out at the end.
 */
import type { Clock } from "./clock.ts";
import type { ChosenColumn } from "./column-choice.ts";
import { GrowingColumn } from "./growing-column.ts";
import { type DecimalSign, parseNumberCell, parseSettling } from "./number-cell.ts";
import { RejectedTally } from "./rejected-rows.ts";
import { parseUnit, toSi, type Unit } from "./unit.ts";

export class Channel {
  readonly values: GrowingColumn;
  readonly lowest: GrowingColumn | null;
  readonly highest: GrowingColumn | null;
  readonly rejected = new RejectedTally();
  readonly choice: ChosenColumn;
  readonly quantity: "volts" | "amps";
  /** rows without a number, each a NaN in `values` */
  gaps = 0;
  /** smallest step written, in SI */
  resolution = Number.POSITIVE_INFINITY;
  /** decimals of the cells so far: where all have the same, a shorter one at the file's end was cut */
  fewestDecimals = Number.POSITIVE_INFINITY;
  mostDecimals = Number.NEGATIVE_INFINITY;
  readonly #decimal: DecimalSign;

  /** @param rows how many are likely to come; 0: not known */
  constructor(choice: ChosenColumn, quantity: "volts" | "amps", decimal: DecimalSign, rows: number) {
    this.values = new GrowingColumn(rows);
    this.choice = choice;
    this.quantity = quantity;
    this.#decimal = decimal;
    this.lowest = choice.lowestColumn === null ? null : new GrowingColumn(rows);
    this.highest = choice.highestColumn === null ? null : new GrowingColumn(rows);
  }

  /** Whether the row has anything to say to this channel: a number, a gap mark, or a damaged number. */
  speaks(cells: readonly string[]): boolean {
    const text = cells[this.choice.column]?.trim() ?? "";
    return text !== "" && (beginsAsNumber(text) || parseNumberCell(text, this.#decimal.sign).kind !== "unreadable");
  }

  /** Takes the row's cell; NaN stands for a gap, which is tallied with its reason. */
  take(cells: readonly string[], line: number, cutShort: boolean): void {
    this.values.push(this.#read(cells, line, cutShort));
    this.lowest?.push(this.#extreme(cells, this.choice.lowestColumn!));
    this.highest?.push(this.#extreme(cells, this.choice.highestColumn!));
  }

  #read(cells: readonly string[], line: number, cutShort: boolean): number {
    const text = cells[this.choice.column];
    const cell = text === undefined ? null : parseSettling(text, this.#decimal);
    if (cell === null) return this.#reject("row too short", line);
    if (cell.kind === "gap") return this.#reject(cell.reason, line);
    if (cell.kind === "unreadable") return this.#reject("no number in the cell", line);
    const unit = this.unitOf(cell.unit, cells);
    if (unit.quantity !== this.quantity) return this.#reject(`in ${unit.text}, not in ${this.quantity}`, line);
    if (unit.alternating) return this.#reject("AC", line);
    if (cutShort && this.mostDecimals === this.fewestDecimals && cell.decimals < this.fewestDecimals) {
      return this.#reject("last row cut short", line);
    }
    this.noteDecimals(cell.decimals, unit);
    return toSi(cell.value, unit);
  }

  /** Rows whose cell held a gap mark that this channel has met before, and whose NaN is in `values` already. */
  takeGaps(reason: string, count: number): void {
    this.rejected.addMore(reason, count);
    this.gaps += count;
  }

  #reject(reason: string, line: number): number {
    this.rejected.add(reason, line);
    this.gaps++;
    return Number.NaN;
  }

  /** The unit in force for a number of this row: the job's, the one beside it, the row's own, the column's. */
  unitOf(beside: Unit | null, cells: readonly string[]): Unit {
    if (this.choice.unitForced) return this.choice.unit;
    const column = this.choice.unitColumn;
    return beside ?? (column === null ? null : parseUnit(cells[column] ?? "")) ?? this.choice.unit;
  }

  /** @param decimals of a number taken in this unit; negative: whole tens, hundreds */
  noteDecimals(decimals: number, unit: Unit): void {
    if (decimals < this.fewestDecimals) this.fewestDecimals = decimals;
    if (decimals > this.mostDecimals) this.mostDecimals = decimals;
    const step = toSi(decimals > 0 ? 1 / 10 ** decimals : 10 ** -decimals, unit);
    if (step < this.resolution) this.resolution = step;
  }

  #extreme(cells: readonly string[], column: number): number {
    const cell = parseNumberCell(cells[column] ?? "", this.#decimal.sign);
    return cell.kind === "number" ? toSi(cell.value, this.unitOf(cell.unit, cells)) : Number.NaN;
  }
}

const beginsAsNumber = (cell: string): boolean => /^\s*[+\-−.,]?\s?\d/.test(cell);

/** The channels that one clock stamps, in step with it. */
export class ClockedChannels {
  readonly clock: Clock;
  readonly ticks: GrowingColumn;
  readonly channels: Channel[] = [];
  readonly rejected = new RejectedTally();

  /** @param rows how many are likely to come; 0: not known */
  constructor(clock: Clock, rows: number) {
    this.ticks = new GrowingColumn(rows);
    this.clock = clock;
  }

  /** @param reason why the row is no row of the log where it has no time */
  take(cells: readonly string[], line: number, cutShort: boolean, reason: () => string): void {
    const counts = this.clock.columns.length === 0;
    const speaks = this.channels.some((channel) => channel.speaks(cells));
    if (counts && !speaks && !this.#leavesEmpty(cells)) {
      this.rejected.add(reason(), line);
      return;
    }
    const tick = this.clock.read(cells, this.ticks.length);
    if (Number.isNaN(tick)) {
      // a row of other channels' numbers, which have a time of their own
      const silent =
        !speaks &&
        this.clock.columns.every((column) => (cells[column] ?? "").trim() === "") &&
        cells.some(beginsAsNumber);
      if (!silent) this.rejected.add(reason(), line);
      return;
    }
    this.ticks.push(tick);
    for (const channel of this.channels) channel.take(cells, line, cutShort);
  }

  /** A row of the log that has nothing in our cells but its unit or another column's number: its time passes all the same. */
  #leavesEmpty(cells: readonly string[]): boolean {
    const isOfARow = (cell = "") => beginsAsNumber(cell) || parseUnit(cell) !== null;
    return (
      this.channels.every(({ choice }) => cells[choice.column]?.trim() === "") &&
      (isOfARow(cells[0]) || (cells[0]?.trim() === "" && cells.some(isOfARow)))
    );
  }
}
