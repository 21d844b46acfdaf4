/**
 * The bytes of a file as UTF-8 bytes, whatever they were: byte-order marks are taken off and UTF-16 is
 * rewritten. Windows-1252 is left as it is and found line by line, since its first degree or micro sign may
 * stand a million rows down.
 */
import { withAsciiDigits } from "./local-digits.ts";

export type Encoding = "UTF-8" | "UTF-16 little-endian" | "UTF-16 big-endian";

/** So many bytes tell UTF-16 without a mark from UTF-8: every other byte of its digits is 0. */
const bytesToTell = 64;

export class Utf8Stream {
  encoding: Encoding | null = null;
  #waiting: Uint8Array = new Uint8Array(0);
  #decoder: InstanceType<typeof TextDecoder> | null = null;
  #encoder = new TextEncoder();

  push(chunk: Uint8Array): Uint8Array {
    if (this.encoding !== null) return this.#rewrite(chunk, false);
    this.#waiting = joinBytes(this.#waiting, chunk);
    return this.#waiting.length < bytesToTell ? new Uint8Array(0) : this.#begin(false);
  }

  finish(): Uint8Array {
    return this.encoding === null ? this.#begin(true) : this.#rewrite(new Uint8Array(0), true);
  }

  #begin(last: boolean): Uint8Array {
    const bytes = this.#waiting;
    this.#waiting = new Uint8Array(0);
    const [encoding, mark] = tellEncoding(bytes);
    this.encoding = encoding;
    if (encoding !== "UTF-8") {
      this.#decoder = new TextDecoder(encoding === "UTF-16 little-endian" ? "utf-16le" : "utf-16be");
    }
    return this.#rewrite(bytes.subarray(mark), last);
  }

  #rewrite(bytes: Uint8Array, last: boolean): Uint8Array {
    return this.#decoder === null ? bytes : this.#encoder.encode(this.#decoder.decode(bytes, { stream: !last }));
  }
}

/** The encoding, and how many bytes its mark takes. */
function tellEncoding(bytes: Uint8Array): [Encoding, number] {
  if (bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf) return ["UTF-8", 3];
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return ["UTF-16 little-endian", 2];
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return ["UTF-16 big-endian", 2];
  const looked = Math.min(bytes.length, bytesToTell) & ~1;
  const zeros = [0, 0];
  const others = [0, 0];
  for (let i = 0; i < looked; i++) (bytes[i] === 0 ? zeros : others)[i & 1]!++;
  const mostly = looked / 2 - looked / 8;
  if (looked >= 4 && zeros[1]! >= mostly && others[0]! >= mostly) return ["UTF-16 little-endian", 0];
  if (looked >= 4 && zeros[0]! >= mostly && others[1]! >= mostly) return ["UTF-16 big-endian", 0];
  return ["UTF-8", 0];
}

export const joinBytes = (a: Uint8Array, b: Uint8Array): Uint8Array => concatBytes([a, b], a.length + b.length);

export function concatBytes(pieces: readonly Uint8Array[], length: number): Uint8Array {
  const joined = new Uint8Array(length);
  let at = 0;
  for (const piece of pieces) {
    joined.set(piece, at);
    at += piece.length;
  }
  return joined;
}

/** Text of a stretch of bytes, and whether it took Windows-1252 to read it. */
export class LineDecoder {
  sawWindows1252 = false;
  #utf8 = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true });
  #windows1252 = new TextDecoder("windows-1252");

  decode(bytes: Uint8Array, start: number, end: number): string {
    if (end - start < 256 && isAscii(bytes, start, end)) return asciiText(bytes, start, end);
    const piece = bytes.subarray(start, end);
    try {
      return withAsciiDigits(this.#utf8.decode(piece));
    } catch {
      this.sawWindows1252 = true;
      return this.#windows1252.decode(piece);
    }
  }
}

function isAscii(bytes: Uint8Array, start: number, end: number): boolean {
  for (let i = start; i < end; i++) if (bytes[i]! > 127) return false;
  return true;
}

function asciiText(bytes: Uint8Array, start: number, end: number): string {
  return String.fromCharCode.apply(null, bytes.subarray(start, end) as unknown as number[]);
}
