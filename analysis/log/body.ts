/**
 * The rows of a log below its header: bytes in, channels filled.
 * Each record is cut into cells and taken by every clock's channels; what no channel can take is counted with its reason.
 */
import type { ByteScanner } from "./byte-scanner.ts";
import type { ClockedChannels } from "./channel.ts";
import { splitCells } from "./delimited-text.ts";
import { joinBytes, type LineDecoder } from "./encoding.ts";
import { isStrangeByte } from "./foreign-file.ts";
import { parseHeaderCell } from "./header-cell.ts";
import { headerCells } from "./header-row.ts";
import type { Layout } from "./layout.ts";
import { parseNumberCell } from "./number-cell.ts";
import { findRecordEnd, type RecordEnd } from "./record.ts";
import { RejectedTally } from "./rejected-rows.ts";
import { plainRow, valuesByLabel } from "./row-form.ts";
import { parseStamp } from "./timestamp.ts";

/** No row of a meter log is longer than this. */
export const longestRecordBytes = 1_048_576;

export class Body {
  readonly rejected = new RejectedTally();
  readonly #layout: Layout;
  readonly #clocked: readonly ClockedChannels[];
  readonly #decoder: LineDecoder;
  readonly #delimiterByte: number;
  readonly #header: readonly string[];
  readonly #scanner: ByteScanner | null;
  #line: number;
  #carried: Uint8Array = new Uint8Array(0);
  #skipping = false;
  /** below a header that names other columns than ours */
  #inOtherTable = false;

  constructor(
    layout: Layout,
    clocked: readonly ClockedChannels[],
    scanner: ByteScanner | null,
    decoder: LineDecoder,
    firstLine: number,
  ) {
    this.#scanner = scanner;
    this.#layout = layout;
    this.#clocked = clocked;
    this.#decoder = decoder;
    this.#delimiterByte = layout.delimiter.charCodeAt(0);
    this.#header = layout.header?.map(({ text }) => text) ?? [];
    this.#line = firstLine;
  }

  /** Takes all whole records of the bytes, and keeps the rest for the next call. */
  take(chunk: Uint8Array, last: boolean): void {
    // Only the record that the last chunk left open is joined: a copy of every chunk would cost as much as reading it.
    const cut = this.#carried.length === 0 || last ? 0 : endOfFirstLine(chunk);
    if (cut > 0) this.#takeRecords(joinBytes(this.#carried, chunk.subarray(0, cut)), false);
    const rest = chunk.subarray(cut);
    this.#takeRecords(this.#carried.length === 0 ? rest : joinBytes(this.#carried, rest), last);
    if (this.#carried.length > longestRecordBytes) this.#skipLongRecord();
  }

  #takeRecords(bytes: Uint8Array, last: boolean): void {
    let at = 0;
    while (at < bytes.length) {
      at = this.#scan(bytes, at);
      const record = findRecordEnd(bytes, at, this.#delimiterByte, last);
      if (record === null) break;
      this.#takeRecord(bytes, at, record, last && record.end === bytes.length);
      at = record.next;
    }
    this.#carried = bytes.slice(at);
  }

  #scan(bytes: Uint8Array, at: number): number {
    if (this.#scanner === null || this.#skipping || this.#inOtherTable) return at;
    const next = this.#scanner.scan(bytes, at);
    this.#line += this.#scanner.rows;
    return next;
  }

  #skipLongRecord(): void {
    if (!this.#skipping) this.rejected.add(`longer than ${longestRecordBytes} bytes`, this.#line);
    this.#skipping = true;
    this.#carried = new Uint8Array(0);
  }

  #takeRecord(bytes: Uint8Array, start: number, record: RecordEnd, cutShort: boolean): void {
    const line = this.#line;
    this.#line += record.lines;
    if (this.#skipping) this.#skipping = false;
    else if (hasStrangeByte(bytes, start, record.end)) {
      if (!isZeros(bytes, start, record.end)) this.rejected.add("a byte that is no text", line);
    } else if (record.unclosed) this.rejected.add("a quote is opened and never closed", line);
    else this.#takeRow(this.#decoder.decode(bytes, start, record.end), line, cutShort);
  }

  #takeRow(text: string, line: number, cutShort: boolean): void {
    if (text.trim() === "") return;
    const cells = this.#cellsOf(text);
    if (cells === null) {
      this.rejected.add(
        this.#layout.form === "sentence" ? "another sentence, or a wrong checksum" : "text between the rows",
        line,
      );
      return;
    }
    if (cells.every((cell) => cell.trim() === "")) return;
    this.#noteHeading(text, cells);
    if (this.#inOtherTable) {
      this.rejected.add("below another header", line);
      return;
    }
    for (const clocked of this.#clocked) {
      if (clocked.clock.columns.length === 0 && isStatistics(cells[0] ?? "")) {
        clocked.rejected.add("text between the rows", line);
        continue;
      }
      clocked.take(cells, line, cutShort, () => this.#reasonOf(text, cells, clocked));
    }
    // The scanner takes no row with a quote, and need not learn from one.
    if (this.#layout.form === "plain" && !text.includes('"')) this.#scanner?.learn(cells);
  }

  /** null: a row of another kind */
  #cellsOf(text: string): string[] | null {
    const { form, delimiter, labels } = this.#layout;
    if (labels !== null) return valuesByLabel(text, delimiter, labels);
    const plain = plainRow(form, text);
    return plain === null ? null : splitCells(plain, delimiter);
  }

  /** A second table may stand below the first: its header names time as ours does, and something else beside it. */
  #noteHeading(text: string, row: readonly string[]): void {
    if (this.#layout.header === null || /^[\s"+-]*\d/.test(row[0] ?? "")) return;
    // Names may have blanks in them where blanks part the cells.
    const { delimiter, columns } = this.#layout;
    const cells = delimiter === " " ? (headerCells(text, delimiter, columns.length) ?? row) : row;
    const filled = cells.filter((cell) => cell.trim() !== "");
    if (filled.length < 2 || !filled.every(isName)) return;
    if (this.#sharedWithHeader(cells) >= filled.length / 2 && this.#valuesNamedAsOurs(cells))
      this.#inOtherTable = false;
    else if (filled.some((cell) => parseHeaderCell(cell).role === "time")) this.#inOtherTable = true;
  }

  #valuesNamedAsOurs(cells: readonly string[]): boolean {
    const columns = this.#clocked.flatMap(({ channels }) => channels.map(({ choice }) => choice.column));
    return columns.every((column) => (cells[column] ?? "").trim() === (this.#header[column] ?? ""));
  }

  #sharedWithHeader(cells: readonly string[]): number {
    return cells.filter((cell, k) => cell.trim() !== "" && cell.trim() === this.#header[k]).length;
  }

  /** Why a row without a readable time is none. */
  #reasonOf(text: string, cells: readonly string[], clocked: ClockedChannels): string {
    if (/^\s*(#|\/\/|%|\*)/.test(text)) return "remark";
    const same = this.#sharedWithHeader(cells);
    if (same > 0 && same >= cells.filter((cell) => cell.trim() !== "").length / 2) return "header repeated";
    const { columns } = clocked.clock;
    if (columns.length === 0) return "text between the rows";
    const stamps = columns.map((column) => (cells[column] ?? "").trim());
    if (stamps.every((stamp) => stamp === "")) return "no time in the row";
    return stamps.some((stamp) => /\d/.test(stamp)) ? "time not readable" : "text between the rows";
  }
}

/** Words that a header could hold: no number, gap or stamp. */
const isName = (cell: string): boolean =>
  /\p{L}/u.test(cell) && parseNumberCell(cell, ".").kind === "unreadable" && parseStamp(cell) === null;

/** `Min,10.1` under a log whose rows have no time of their own. */
const isStatistics = (cell: string): boolean =>
  /^(min|max|avg|average|mean|std|sum|total|median|count|range|span|rms|mittel|moyenne|media)/i.test(cell.trim());

/** Past the first line break; 0 where there is none, or only one whose CR may be half of a CRLF. */
function endOfFirstLine(bytes: Uint8Array): number {
  const lineFeed = bytes.indexOf(10);
  if (lineFeed >= 0) return lineFeed + 1;
  const carriageReturn = bytes.indexOf(13);
  return carriageReturn >= 0 && carriageReturn + 1 < bytes.length ? carriageReturn + 1 : 0;
}

function hasStrangeByte(bytes: Uint8Array, start: number, end: number): boolean {
  for (let i = start; i < end; i++) if (isStrangeByte(bytes[i]!)) return true;
  return false;
}

const isZeros = (bytes: Uint8Array, start: number, end: number): boolean =>
  bytes.subarray(start, end).every((byte) => byte === 0);
