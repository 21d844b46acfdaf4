/**
 * The fast way through a log's body: rows like the one just read go from bytes into numbers without a string in between.
 * It learns a row's pattern from each row that the general way took (what stands before and after the digits, the
 * date, the unit) and takes rows as long as they repeat it; the first that does not goes the general way, and teaches anew.
 * What it takes it must take exactly as the general way would: a property test holds the two against each other.
 */
import type { ClockedChannels } from "./channel.ts";
import { type GapMark, GapMarks } from "./gap-marks.ts";
import type { DecimalSign } from "./number-cell.ts";
import { type CellPlan, learnRowPattern, numeric, type Output, skipped, timeOfDay } from "./row-pattern.ts";

const lineFeed = 10;
const carriageReturn = 13;
const zero = 48;
const colon = 58;
const noNumbers = new Float64Array(0);
/** Rows are handed on in lots of so many. */
const stagedRows = 1024;
/** Exactly representable; a whole number below 2^53 divided by one of these rounds as the decimal text does. */
const powersOfTen = Float64Array.from({ length: 16 }, (_, n) => 10 ** n);
const largestExact = Number.MAX_SAFE_INTEGER;
/** So many digits always fit into 32 bits. */
const surelyShort = 9;

export class ByteScanner {
  /** rows taken by the last call of `scan` */
  rows = 0;
  readonly #clocked: readonly ClockedChannels[];
  readonly #decimal: DecimalSign;
  readonly #delimiter: number;
  #cells: readonly CellPlan[] = [];
  #outputs: readonly Output[] = [];
  /** for each column, its numbers in the rows taken and not yet handed on */
  #stages: Float64Array[] = [];
  #staged = 0;
  /** decimals of each column in the row last scanned, and whether they differ from the row before */
  #decimals = new Int32Array(0);
  #decimalsChanged = true;
  /** least and most decimals of each column since they were last handed on */
  #fewest = new Int32Array(0);
  #most = new Int32Array(0);
  /** 1 for a column of numbers with nothing beside their digits and no gap marks among them */
  #bare = new Uint8Array(0);
  #ready = false;
  readonly #marks: GapMarks;
  /** the marks of each column, and those in the row being scanned */
  #marksOf: (readonly GapMark[])[] = [];
  #marksInRow: GapMark[] = [];
  /** cells of the row last learnt: a number for each column */
  #learnt: readonly string[] = [];
  #decimalByte = 46;

  constructor(clocked: readonly ClockedChannels[], decimal: DecimalSign, delimiter: string) {
    this.#clocked = clocked;
    this.#marks = new GapMarks(clocked);
    this.#decimal = decimal;
    this.#delimiter = delimiter.charCodeAt(0);
  }

  /** Takes the pattern of a row that the general way has just taken, where it has one. */
  learn(cells: readonly string[]): void {
    // Runs of blanks have no fixed cells.
    if (this.#delimiter === 32) return;
    const filled = this.#marks.learn(cells, this.#learnt);
    const pattern = learnRowPattern(this.#clocked, this.#decimal.sign, filled);
    this.#ready = pattern !== null;
    if (pattern === null) return;
    this.#learnt = filled;
    this.#marksOf = filled.map((_, column) => this.#marks.of(column));
    this.#cells = pattern.cells;
    this.#outputs = pattern.outputs;
    this.#stages = pattern.cells.map(({ kind }, column) => this.#stageFor(kind, column));
    this.#bare = Uint8Array.from(pattern.cells, ({ kind, suffix }, column) =>
      kind === numeric && suffix.length === 0 && this.#marksOf[column]!.length === 0 ? 1 : 0,
    );
    this.#decimals = new Int32Array(cells.length).fill(-1);
    this.#decimalsChanged = true;
    this.#fewest = new Int32Array(cells.length).fill(99);
    this.#most = new Int32Array(cells.length).fill(-1);
  }

  #stageFor(kind: number, column: number): Float64Array {
    if (kind !== numeric && kind !== timeOfDay) return noNumbers;
    const used = this.#stages[column] ?? noNumbers;
    return used.length > 0 ? used : new Float64Array(stagedRows);
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
      if (this.#marksInRow.length > 0) this.#noteMarks(next >= 0);
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
    const bare = this.#bare;
    const delimiter = this.#delimiter;
    const last = bare.length - 1;
    let i = start;
    for (let column = 0; column <= last; column++) {
      i = bare[column] === 1 ? this.#scanNumber(bytes, i, column) : this.#scanCell(bytes, i, column);
      if (i < 0) return -1;
      if (column < last && bytes[i++] !== delimiter) return -1;
    }
    const byte = bytes[i];
    if (byte === lineFeed) return i + 1;
    // A CR as the very last byte may be half of a CRLF.
    if (byte !== carriageReturn || i + 1 >= bytes.length) return -1;
    return bytes[i + 1] === lineFeed ? i + 2 : i + 1;
  }

  /** @returns past the cell; −1 where it does not repeat the pattern */
  #scanCell(bytes: Uint8Array, start: number, column: number): number {
    const cell = this.#cells[column]!;
    if (cell.kind === numeric) {
      const past = this.#scanMark(bytes, start, column);
      if (past >= 0) return past;
    }
    const end = this.#scanKind(bytes, start, column, cell);
    return end < 0 ? -1 : matchBytes(bytes, end, cell.suffix);
  }

  #scanKind(bytes: Uint8Array, start: number, column: number, cell: CellPlan): number {
    if (cell.kind === numeric) return this.#scanNumber(bytes, start, column);
    if (cell.kind === skipped) return skipCell(bytes, start, this.#delimiter);
    if (cell.kind === timeOfDay) return this.#scanTime(bytes, start, column, cell);
    return matchBytes(bytes, start, cell.prefix);
  }

  /** @returns past a gap mark that fills its cell, a NaN being staged; −1 where there is none */
  #scanMark(bytes: Uint8Array, start: number, column: number): number {
    const isLast = column === this.#cells.length - 1;
    for (const mark of this.#marksOf[column]!) {
      const end = matchBytes(bytes, start, mark.bytes);
      if (end < 0) continue;
      const byte = bytes[end];
      if (isLast ? byte !== lineFeed && byte !== carriageReturn : byte !== this.#delimiter) continue;
      this.#stages[column]![this.#staged] = Number.NaN;
      this.#marksInRow.push(mark);
      return end;
    }
    return -1;
  }

  /** @param taken whether the row that holds them was */
  #noteMarks(taken: boolean): void {
    if (taken) for (const mark of this.#marksInRow) mark.count++;
    this.#marksInRow = [];
  }

  #scanNumber(bytes: Uint8Array, start: number, column: number): number {
    let i = start;
    let byte = bytes[i]!;
    while (byte === 32) byte = bytes[++i]!;
    const negative = byte === 45;
    if (negative || byte === 43) byte = bytes[++i]!;
    const firstDigit = i;
    // Of all bytes only those of the digits come to less than ten so. What whole arithmetic of 32 bits cannot hold is counted anew.
    let digit = byte ^ zero;
    let digits = 0;
    for (; digit < 10; digit = bytes[++i]! ^ zero) digits = (digits * 10 + digit) | 0;
    if (i === firstDigit) return -1;
    let decimals = 0;
    if ((digit ^ zero) === this.#decimalByte) {
      const point = i;
      for (digit = bytes[++i]! ^ zero; digit < 10; digit = bytes[++i]! ^ zero) digits = (digits * 10 + digit) | 0;
      decimals = i - point - 1;
      // The first number with decimals settles the decimal sign: the general way's business.
      if (decimals > 15 || (decimals > 0 && !this.#decimal.settled)) return -1;
    }
    const whole = i - firstDigit > surelyShort ? wholeNumber(bytes, firstDigit, i) : digits;
    if (whole > largestExact) return -1;
    const size = decimals === 0 ? whole : whole / powersOfTen[decimals]!;
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
      // No number of the column has been seen yet, or it has none.
      if (decimals < 0) return;
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
      this.#marks.tell(channel);
      if (this.#most[column]! < 0) continue;
      channel.noteDecimals(this.#fewest[column]!, unit);
      channel.noteDecimals(this.#most[column]!, unit);
    }
    this.#marks.settle();
    for (const { clock } of this.#clocked) {
      for (const column of clock.columns) clock.noteDecimals?.(this.#most[column]!);
    }
  }
}

/** The digits from … end − 1 as one number, a decimal sign among them left out. */
function wholeNumber(bytes: Uint8Array, from: number, end: number): number {
  let number = 0;
  for (let i = from; i < end; i++) {
    const digit = bytes[i]! ^ zero;
    if (digit < 10) number = number * 10 + digit;
  }
  return number;
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
