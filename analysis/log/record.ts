/**
 * Where one record of delimited text ends. A record is a line, or several where a quoted cell holds line breaks
 * (RFC 4180, rules 5 to 7). LF, CRLF and CR all end a line.
 */
export interface RecordEnd {
  /** past the record's last byte, its line break left out */
  readonly end: number;
  /** where the next record starts */
  readonly next: number;
  /** how many lines the record takes */
  readonly lines: number;
  /** a quote was opened and never closed; the record is then cut at its first line break */
  readonly unclosed: boolean;
}

/** A quoted cell longer than this is a quote that somebody forgot to close, not a remark. */
const longestQuotedBytes = 65_536;
const longestQuotedLines = 100;

const lineFeed = 10;
const carriageReturn = 13;
const quote = 34;
const blank = 32;

/** Where the delimiter is not known yet, a quote may open a cell after any of the common ones. */
export const anyDelimiter = -1;
const commonDelimiters = new Set([44, 59, 9, 124, blank]);

const isDelimiter = (byte: number, delimiter: number): boolean =>
  delimiter === anyDelimiter ? commonDelimiters.has(byte) : byte === delimiter;

/**
 * @param delimiter its byte, or `anyDelimiter`
 * @param last whether the bytes end where the file ends
 * @returns null where the record goes on beyond the bytes at hand
 */
export function findRecordEnd(bytes: Uint8Array, start: number, delimiter: number, last: boolean): RecordEnd | null {
  let cellStart = true;
  for (let i = start; i < bytes.length; i++) {
    const byte = bytes[i]!;
    if (byte === lineFeed || byte === carriageReturn) return lineEnd(bytes, i, 1, last);
    if (byte === quote && cellStart) return quotedRecordEnd(bytes, start, i, delimiter, last);
    cellStart = isDelimiter(byte, delimiter) || (cellStart && byte === blank);
  }
  return last && start < bytes.length ? { end: bytes.length, next: bytes.length, lines: 1, unclosed: false } : null;
}

function lineEnd(bytes: Uint8Array, at: number, lines: number, last: boolean): RecordEnd | null {
  if (bytes[at] === lineFeed) return { end: at, next: at + 1, lines, unclosed: false };
  // A CR at the very end of the bytes may be half of a CRLF.
  if (at + 1 >= bytes.length && !last) return null;
  return { end: at, next: bytes[at + 1] === lineFeed ? at + 2 : at + 1, lines, unclosed: false };
}

function quotedRecordEnd(
  bytes: Uint8Array,
  start: number,
  firstQuote: number,
  delimiter: number,
  last: boolean,
): RecordEnd | null {
  let inside = true;
  let cellStart = false;
  let lines = 1;
  for (let i = firstQuote + 1; i < bytes.length; i++) {
    const byte = bytes[i]!;
    const breaks = byte === lineFeed || (byte === carriageReturn && bytes[i + 1] !== lineFeed);
    if (inside) {
      if (byte === quote) inside = false;
      else if (breaks && ++lines > longestQuotedLines) return cutAtFirstLine(bytes, start, last);
      if (i - firstQuote > longestQuotedBytes) return cutAtFirstLine(bytes, start, last);
    } else if (byte === quote) inside = bytes[i - 1] === quote || cellStart;
    else if (byte === lineFeed || byte === carriageReturn) return lineEnd(bytes, i, lines, last);
    if (!inside) cellStart = isDelimiter(byte, delimiter) || (cellStart && byte === blank);
  }
  if (!last) return null;
  return inside
    ? cutAtFirstLine(bytes, start, last)
    : { end: bytes.length, next: bytes.length, lines, unclosed: false };
}

function cutAtFirstLine(bytes: Uint8Array, start: number, last: boolean): RecordEnd | null {
  for (let i = start; i < bytes.length; i++) {
    const end = bytes[i] === lineFeed || bytes[i] === carriageReturn ? lineEnd(bytes, i, 1, last) : null;
    if (end !== null) return { ...end, unclosed: true };
  }
  return { end: bytes.length, next: bytes.length, lines: 1, unclosed: true };
}
