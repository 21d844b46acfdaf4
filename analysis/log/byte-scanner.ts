/**
 * The fast way through a log's body: rows like the one just read go from bytes into numbers without a string in between.
 * It learns a row's pattern from each row that the general way took (what stands before and after the digits, the
 * date, the unit) and takes rows as long as they repeat it; the first that does not goes the general way, and teaches anew.
 * What it takes it must take exactly as the general way would: a property test holds the two against each other.
 */
import type { Channel, ClockedChannels } from "./channel.ts";
import type { GrowingColumn } from "./growing-column.ts";
import { type DecimalSign, parseNumberCell } from "./number-cell.ts";
import { NumberClock } from "./number-clock.ts";
import { StampClock } from "./stamp-clock.ts";
import { parseStamp } from "./timestamp.ts";
import type { Unit } from "./unit.ts";

/** How a cell is read. */
const skipped = 0;
const numeric = 1;
const timeOfDay = 2;
const constant = 3;

interface CellPlan {
  kind: number;
  /** bytes before the digits; all of them for a constant */
  prefix: Uint8Array;
  suffix: Uint8Array;
  /** seconds that the pattern adds to the time of day: 12 hours for PM, days before the hours */
  baseSeconds: number;
  twelveHour: boolean;
}

/** Where a number of the row goes. */
interface Output {
  readonly target: GrowingColumn;
  /** column whose number it takes; −1: the count of rows */
  readonly column: number;
  readonly unit: Unit | null;
  readonly channel: Channel | null;
}

const lineFeed = 10;
const carriageReturn = 13;
const zero = 48;
const colon = 58;
const noBytes = new Uint8Array(0);
const noNumbers = new Float64Array(0);
/** Rows are handed on in lots of so many. */
const stagedRows = 1024;
/** Exactly representable; a whole number below 2^53 divided by one of these rounds as the decimal text does. */
const powersOfTen = Float64Array.from({ length: 16 }, (_, n) => 10 ** n);
const largestExact = Number.MAX_SAFE_INTEGER;

export class ByteScanner {
  /** rows taken by the last call of `scan` */
  rows = 0;
  readonly #clocked: readonly ClockedChannels[];
  readonly #decimal: DecimalSign;
  readonly #delimiter: number;
  readonly #encoder = new TextEncoder();
  #cells: CellPlan[] = [];
  #outputs: Output[] = [];
  /** for each column, its numbers in the rows taken and not yet handed on */
  #stages: Float64Array[] = [];
  #staged = 0;
  /** decimals of each column in the row last scanned, and whether they differ from the row before */
  #decimals = new Int32Array(0);
  #decimalsChanged = true;
  /** least and most decimals of each column since they were last handed on */
  #fewest = new Int32Array(0);
  #most = new Int32Array(0);
  #ready = false;
  #decimalByte = 46;

  constructor(clocked: readonly ClockedChannels[], decimal: DecimalSign, delimiter: string) {
    this.#clocked = clocked;
    this.#decimal = decimal;
    this.#delimiter = delimiter.charCodeAt(0);
  }

  /** Takes the pattern of a row that the general way has just taken, where it has one. */
  learn(cells: readonly string[]): void {
    this.#ready = false;
    // Runs of blanks have no fixed cells.
    if (this.#delimiter === 32) return;
    const plans = cells.map(
      (): CellPlan => ({ kind: skipped, prefix: noBytes, suffix: noBytes, baseSeconds: 0, twelveHour: false }),
    );
    const outputs: Output[] = [];
    for (const clocked of this.#clocked) {
      if (!this.#learnClock(clocked, cells, plans, outputs)) return;
      for (const channel of clocked.channels) if (!this.#learnChannel(channel, cells, plans, outputs)) return;
    }
    this.#cells = plans;
    this.#outputs = outputs;
    this.#stages = plans.map(({ kind }, column) => this.#stageFor(kind, column));
    this.#decimals = new Int32Array(plans.length);
    this.#decimalsChanged = true;
    this.#fewest = new Int32Array(plans.length).fill(99);
    this.#most = new Int32Array(plans.length).fill(-1);
    this.#ready = true;
  }

  #stageFor(kind: number, column: number): Float64Array {
    if (kind !== numeric && kind !== timeOfDay) return noNumbers;
    const used = this.#stages[column] ?? noNumbers;
    return used.length > 0 ? used : new Float64Array(stagedRows);
  }

  #learnClock(clocked: ClockedChannels, cells: readonly string[], plans: CellPlan[], outputs: Output[]): boolean {
    const { clock, ticks } = clocked;
    const column = clock.columns[0] ?? -1;
    outputs.push({ target: ticks, column, unit: null, channel: null });
    if (column < 0) return true;
    if (clock instanceof NumberClock) return this.#learnNumber(cells, column, plans) === "bare";
    if (!(clock instanceof StampClock)) return false;
    const at = this.#learnStamp(clock, cells, plans);
    outputs[outputs.length - 1] = { target: ticks, column: at, unit: null, channel: null };
    return at >= 0;
  }

  /** @returns the column of the time of day, the others of the stamp being constant; −1 where there is no such pattern */
  #learnStamp(clock: StampClock, cells: readonly string[], plans: CellPlan[]): number {
    const stamp = parseStamp(clock.textOf(cells));
    const timed = clock.columns.filter((column) => /\d:\d{2}:\d{2}/.test(cells[column] ?? ""));
    const [column] = timed;
    if (stamp?.secondsOfDay == null || column === undefined || timed.length > 1) return -1;
    for (const other of clock.columns) if (other !== column && !this.#learnConstant(cells, other, plans)) return -1;
    const match = /^(|.*[^\d:])(\d{1,2}):(\d{2}):(\d{2})(?:[.,](\d{1,9}))?(|[^\d.,:].*)$/s.exec(cells[column] ?? "");
    if (match === null) return -1;
    const [, before = "", hours, minutes, seconds, , after = ""] = match;
    const hour = stamp.twelveHour ? Number(hours) % 12 : Number(hours);
    const written = hour * 3600 + Number(minutes) * 60 + Number(seconds);
    return this.#setPlan(plans, column, {
      kind: timeOfDay,
      prefix: this.#encoder.encode(before),
      suffix: this.#encoder.encode(after),
      baseSeconds: Math.floor(stamp.secondsOfDay) - written,
      twelveHour: stamp.twelveHour,
    })
      ? column
      : -1;
  }

  #learnChannel(channel: Channel, cells: readonly string[], plans: CellPlan[], outputs: Output[]): boolean {
    const { column, lowestColumn, highestColumn, unitColumn, unitForced } = channel.choice;
    if (unitColumn !== null && !unitForced && !this.#learnConstant(cells, unitColumn, plans)) return false;
    const unit = this.#unitOf(channel, cells, column);
    if (unit === null || unit.quantity !== channel.quantity || unit.alternating) return false;
    if (this.#learnNumber(cells, column, plans) === null) return false;
    outputs.push({ target: channel.values, column, unit, channel });
    for (const [target, at] of [
      [channel.lowest, lowestColumn],
      [channel.highest, highestColumn],
    ] as const) {
      if (target === null || at === null) continue;
      const itsUnit = this.#unitOf(channel, cells, at);
      if (itsUnit === null || this.#learnNumber(cells, at, plans) === null) return false;
      outputs.push({ target, column: at, unit: itsUnit, channel: null });
    }
    return true;
  }

  #unitOf(channel: Channel, cells: readonly string[], column: number): Unit | null {
    const cell = parseNumberCell(cells[column] ?? "", this.#decimal.sign);
    return cell.kind === "number" ? channel.unitOf(cell.unit, cells) : null;
  }

  /** @returns whether anything but blanks stands beside the digits; null where the cell has no plain pattern */
  #learnNumber(cells: readonly string[], column: number, plans: CellPlan[]): "bare" | "with unit" | null {
    const pattern = this.#decimal.sign === "." ? /^ *[+-]?\d+(?:\.\d*)?(\D*)$/s : /^ *[+-]?\d+(?:,\d*)?(\D*)$/s;
    const after = pattern.exec(cells[column] ?? "")?.[1];
    if (after === undefined || /[.,'’]/.test(after)) return null;
    const plan = {
      kind: numeric,
      prefix: noBytes,
      suffix: this.#encoder.encode(after),
      baseSeconds: 0,
      twelveHour: false,
    };
    if (!this.#setPlan(plans, column, plan)) return null;
    return after.trim() === "" ? "bare" : "with unit";
  }

  #learnConstant(cells: readonly string[], column: number, plans: CellPlan[]): boolean {
    const prefix = this.#encoder.encode(cells[column] ?? "");
    return this.#setPlan(plans, column, { kind: constant, prefix, suffix: noBytes, baseSeconds: 0, twelveHour: false });
  }

  /** A column may serve two recordings, in one way. */
  #setPlan(plans: CellPlan[], column: number, plan: CellPlan): boolean {
    const known = plans[column];
    if (known === undefined || (known.kind !== skipped && known.kind !== plan.kind)) return false;
    plans[column] = plan;
    return true;
  }

  /**
   * Takes rows from `start` on while they repeat the pattern; only whole lines are taken.
   * @returns where the first row begins that it did not take
   */
  scan(bytes: Uint8Array, start: number): number {
    this.rows = 0;
    if (!this.#ready) return start;
    this.#decimalByte = this.#decimal.sign.charCodeAt(0);
    let end = bytes.length;
    while (end > start && bytes[end - 1] !== lineFeed && bytes[end - 1] !== carriageReturn) end--;
    let at = start;
    while (at < end) {
      const next = this.#scanRow(bytes, at);
      if (next < 0) break;
      if (this.#decimalsChanged) this.#noteDecimals();
      if (++this.#staged === stagedRows) this.#handOn();
      at = next;
    }
    this.#handOn();
    this.#handOnDecimals();
    return at;
  }

  /** @returns past the row's line break, its numbers being staged; −1 where it does not repeat the pattern */
  #scanRow(bytes: Uint8Array, start: number): number {
    const cells = this.#cells;
    const delimiter = this.#delimiter;
    const last = cells.length - 1;
    let i = start;
    for (let column = 0; column <= last; column++) {
      const cell = cells[column]!;
      if (cell.kind === numeric) i = this.#scanNumber(bytes, i, column);
      else if (cell.kind === skipped) i = skipCell(bytes, i, delimiter);
      else if (cell.kind === timeOfDay) i = this.#scanTime(bytes, i, column, cell);
      else i = matchBytes(bytes, i, cell.prefix);
      if (i >= 0 && cell.suffix.length > 0) i = matchBytes(bytes, i, cell.suffix);
      if (i < 0) return -1;
      if (column < last && bytes[i++] !== delimiter) return -1;
    }
    const byte = bytes[i];
    if (byte === lineFeed) return i + 1;
    // A CR as the very last byte may be half of a CRLF.
    if (byte !== carriageReturn || i + 1 >= bytes.length) return -1;
    return bytes[i + 1] === lineFeed ? i + 2 : i + 1;
  }

  #scanNumber(bytes: Uint8Array, start: number, column: number): number {
    let i = start;
    let byte = bytes[i]!;
    while (byte === 32) byte = bytes[++i]!;
    const negative = byte === 45;
    if (negative || byte === 43) byte = bytes[++i]!;
    const firstDigit = i;
    let digits = 0;
    while (byte >= 48 && byte <= 57) {
      digits = digits * 10 + (byte - 48);
      byte = bytes[++i]!;
    }
    if (i === firstDigit) return -1;
    let decimals = 0;
    if (byte === this.#decimalByte) {
      const point = i;
      byte = bytes[++i]!;
      while (byte >= 48 && byte <= 57) {
        digits = digits * 10 + (byte - 48);
        byte = bytes[++i]!;
      }
      decimals = i - point - 1;
      // The first number with decimals settles the decimal sign: the general way's business.
      if (decimals > 15 || (decimals > 0 && !this.#decimal.settled)) return -1;
    }
    if (digits > largestExact) return -1;
    const size = decimals === 0 ? digits : digits / powersOfTen[decimals]!;
    this.#stages[column]![this.#staged] = negative ? -size : size;
    if (this.#decimals[column] !== decimals) this.#changeDecimals(column, decimals);
    return i;
  }

  #scanTime(bytes: Uint8Array, start: number, column: number, cell: CellPlan): number {
    let i = matchBytes(bytes, start, cell.prefix);
    if (i < 0) return -1;
    const hours = bytes[i + 1] === colon ? twoDigits(zero, bytes[i]!) : twoDigits(bytes[i]!, bytes[i + 1]!);
    i += bytes[i + 1] === colon ? 1 : 2;
    if (bytes[i] !== colon || bytes[i + 3] !== colon) return -1;
    const minutes = twoDigits(bytes[i + 1]!, bytes[i + 2]!);
    const seconds = twoDigits(bytes[i + 4]!, bytes[i + 5]!);
    if (hours > 23 || minutes > 59 || seconds > 59) return -1;
    if (cell.twelveHour && (hours < 1 || hours > 12)) return -1;
    i += 6;
    let fraction = 0;
    let decimals = 0;
    if (bytes[i] === 46 || bytes[i] === 44) {
      const point = i++;
      for (let byte = bytes[i]!; byte >= 48 && byte <= 57; byte = bytes[++i]!) fraction = fraction * 10 + (byte - 48);
      decimals = i - point - 1;
      if (decimals === 0 || decimals > 9) return -1;
    }
    const hour = cell.twelveHour ? hours % 12 : hours;
    const whole = cell.baseSeconds + hour * 3600 + minutes * 60 + seconds;
    this.#stages[column]![this.#staged] = decimals === 0 ? whole : whole + fraction / powersOfTen[decimals]!;
    if (this.#decimals[column] !== decimals) this.#changeDecimals(column, decimals);
    return i;
  }

  #changeDecimals(column: number, decimals: number): void {
    this.#decimals[column] = decimals;
    this.#decimalsChanged = true;
  }

  /** The row just scanned has been taken, and its decimals count. */
  #noteDecimals(): void {
    this.#decimalsChanged = false;
    this.#decimals.forEach((decimals, column) => {
      if (decimals > this.#most[column]!) this.#most[column] = decimals;
      if (decimals < this.#fewest[column]!) this.#fewest[column] = decimals;
    });
  }

  /** The staged rows go to their columns. */
  #handOn(): void {
    const count = this.#staged;
    for (const { target, column, unit } of this.#outputs) {
      if (column < 0) for (let k = 0; k < count; k++) target.push(target.length);
      else target.append(this.#stages[column]!, count, unit?.multiply ?? 1, unit?.divide ?? 1);
    }
    this.rows += count;
    this.#staged = 0;
  }

  /** Channels and clocks learn how finely the numbers were written. */
  #handOnDecimals(): void {
    if (this.rows === 0) return;
    for (const { column, channel, unit } of this.#outputs) {
      if (channel === null || unit === null) continue;
      channel.noteDecimals(this.#fewest[column]!, unit);
      channel.noteDecimals(this.#most[column]!, unit);
    }
    for (const { clock } of this.#clocked) {
      for (const column of clock.columns) clock.noteDecimals?.(this.#most[column]!);
    }
  }
}

/** The number that two digits write; 100 where they are none. */
function twoDigits(tens: number, ones: number): number {
  const high = tens - zero;
  const low = ones - zero;
  return high >= 0 && high <= 9 && low >= 0 && low <= 9 ? high * 10 + low : 100;
}

/** Past the cell; −1 at a quote or a byte that is no text, which the general way looks into. */
function skipCell(bytes: Uint8Array, start: number, delimiter: number): number {
  for (let i = start; i < bytes.length; i++) {
    const byte = bytes[i]!;
    if (byte === delimiter || byte === lineFeed || byte === carriageReturn) return i;
    if (byte < 32 || byte === 34 || byte === 127) return -1;
  }
  return -1;
}

/** Past the bytes where they stand there; −1 where they do not. */
function matchBytes(bytes: Uint8Array, start: number, wanted: Uint8Array): number {
  for (let k = 0; k < wanted.length; k++) if (bytes[start + k] !== wanted[k]) return -1;
  return start + wanted.length;
}
