/**
 * What repeats from row to row of a log: which cells are numbers and what stands beside their digits, which is the
 * time of day and what stands around it, which stay as they are (date, unit). Learnt from one row; null where it has no such pattern.
 */
import type { Channel, ClockedChannels } from "./channel.ts";
import type { GrowingColumn } from "./growing-column.ts";
import { type Decimal, parseNumberCell } from "./number-cell.ts";
import { NumberClock } from "./number-clock.ts";
import { StampClock } from "./stamp-clock.ts";
import { parseStamp } from "./timestamp.ts";
import type { Unit } from "./unit.ts";

/** How a cell is read. */
export const skipped = 0;
export const numeric = 1;
export const timeOfDay = 2;
export const constant = 3;

export interface CellPlan {
  readonly kind: number;
  /** bytes before the digits; all of them for a constant */
  readonly prefix: Uint8Array;
  readonly suffix: Uint8Array;
  /** seconds that the pattern adds to the time of day: 12 hours for PM, days before the hours */
  readonly baseSeconds: number;
  readonly twelveHour: boolean;
}

/** Where a number of the row goes. */
export interface Output {
  readonly target: GrowingColumn;
  /** column whose number it takes; −1: the count of rows */
  readonly column: number;
  readonly unit: Unit | null;
  readonly channel: Channel | null;
}

export interface RowPattern {
  /** one a cell */
  readonly cells: readonly CellPlan[];
  readonly outputs: readonly Output[];
}

const noBytes = new Uint8Array(0);
const skippedCell: CellPlan = { kind: skipped, prefix: noBytes, suffix: noBytes, baseSeconds: 0, twelveHour: false };

/**
 * @param cells of a row that every clock and channel has just taken
 * @returns null where some cell that is needed has no plain pattern
 */
export function learnRowPattern(
  clocked: readonly ClockedChannels[],
  decimal: Decimal,
  cells: readonly string[],
): RowPattern | null {
  const learner = new RowLearner(cells, decimal);
  return clocked.every((one) => learner.learn(one)) ? learner.pattern : null;
}

class RowLearner {
  readonly #cells: readonly string[];
  readonly #decimal: Decimal;
  readonly #encoder = new TextEncoder();
  readonly #plans: CellPlan[];
  readonly #outputs: Output[] = [];

  constructor(cells: readonly string[], decimal: Decimal) {
    this.#cells = cells;
    this.#decimal = decimal;
    this.#plans = cells.map(() => skippedCell);
  }

  get pattern(): RowPattern {
    return { cells: this.#plans, outputs: this.#outputs };
  }

  learn(clocked: ClockedChannels): boolean {
    return this.#learnClock(clocked) && clocked.channels.every((channel) => this.#learnChannel(channel));
  }

  #learnClock(clocked: ClockedChannels): boolean {
    const { clock, ticks } = clocked;
    const column = clock.columns[0] ?? -1;
    this.#outputs.push({ target: ticks, column, unit: null, channel: null });
    // Of a row without time the first cell tells whether it is one: statistics below a log have a word there.
    if (column < 0) return clocked.channels.some(({ choice }) => choice.column === 0);
    if (clock instanceof NumberClock) return this.#learnNumber(column) === "bare";
    if (!(clock instanceof StampClock)) return false;
    const at = this.#learnStamp(clock);
    this.#outputs[this.#outputs.length - 1] = { target: ticks, column: at, unit: null, channel: null };
    return at >= 0;
  }

  /** @returns the column of the time of day, the others of the stamp being constant; −1 where there is no such pattern */
  #learnStamp(clock: StampClock): number {
    const stamp = parseStamp(clock.textOf(this.#cells));
    const timed = clock.columns.filter((column) => /\d:\d{2}:\d{2}/.test(this.#cells[column] ?? ""));
    const [column] = timed;
    if (stamp?.secondsOfDay == null || column === undefined || timed.length > 1) return -1;
    for (const other of clock.columns) if (other !== column && !this.#learnConstant(other)) return -1;
    const match = /^(|.*[^\d:])(\d{1,2}):(\d{2}):(\d{2})(?:[.,](\d{1,9}))?(|[^\d.,:].*)$/s.exec(
      this.#cells[column] ?? "",
    );
    if (match === null) return -1;
    const [, before = "", hours, minutes, seconds, , after = ""] = match;
    const hour = stamp.twelveHour ? Number(hours) % 12 : Number(hours);
    const written = hour * 3600 + Number(minutes) * 60 + Number(seconds);
    return this.#setPlan(column, {
      kind: timeOfDay,
      prefix: this.#encoder.encode(before),
      suffix: this.#encoder.encode(after),
      baseSeconds: Math.floor(stamp.secondsOfDay) - written,
      twelveHour: stamp.twelveHour,
    })
      ? column
      : -1;
  }

  #learnChannel(channel: Channel): boolean {
    const { column, lowestColumn, highestColumn, unitColumn, unitForced } = channel.choice;
    if (unitColumn !== null && !unitForced && !this.#learnConstant(unitColumn)) return false;
    const unit = this.#unitOf(channel, column);
    if (unit === null || unit.quantity !== channel.quantity || unit.alternating) return false;
    if (this.#learnNumber(column) === null) return false;
    this.#outputs.push({ target: channel.values, column, unit, channel });
    for (const [target, at] of [
      [channel.lowest, lowestColumn],
      [channel.highest, highestColumn],
    ] as const) {
      if (target === null || at === null) continue;
      const itsUnit = this.#unitOf(channel, at);
      if (itsUnit === null || this.#learnNumber(at) === null) return false;
      this.#outputs.push({ target, column: at, unit: itsUnit, channel: null });
    }
    return true;
  }

  #unitOf(channel: Channel, column: number): Unit | null {
    const cell = parseNumberCell(this.#cells[column] ?? "", this.#decimal);
    return cell.kind === "number" ? channel.unitOf(cell.unit, this.#cells) : null;
  }

  /** @returns whether anything but blanks stands beside the digits; null where the cell has no plain pattern */
  #learnNumber(column: number): "bare" | "with unit" | null {
    const pattern = this.#decimal === "." ? /^ *[+-]?\d+(?:\.\d*)?(\D*)$/s : /^ *[+-]?\d+(?:,\d*)?(\D*)$/s;
    const after = pattern.exec(this.#cells[column] ?? "")?.[1];
    if (after === undefined || /[.,'’]/.test(after)) return null;
    const plan = {
      kind: numeric,
      prefix: noBytes,
      suffix: this.#encoder.encode(after),
      baseSeconds: 0,
      twelveHour: false,
    };
    if (!this.#setPlan(column, plan)) return null;
    return after.trim() === "" ? "bare" : "with unit";
  }

  #learnConstant(column: number): boolean {
    const prefix = this.#encoder.encode(this.#cells[column] ?? "");
    return this.#setPlan(column, { kind: constant, prefix, suffix: noBytes, baseSeconds: 0, twelveHour: false });
  }

  /** A column may serve two recordings, in one way. */
  #setPlan(column: number, plan: CellPlan): boolean {
    const known = this.#plans[column];
    if (known === undefined || (known.kind !== skipped && known.kind !== plan.kind)) return false;
    this.#plans[column] = plan;
    return true;
  }
}
