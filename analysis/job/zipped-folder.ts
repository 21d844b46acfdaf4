/**
 * A job folder that came as a zip: which files it holds, and each file's bytes a piece at a time.
 * Nothing in a zip is believed: sizes, checksums and names are held against what is really there.
 * Source: the .ZIP file format specification (APPNOTE 6.3), sections 4.3 and 4.5; field offsets from memory.
 */
import { Inflate } from "fflate";
import { Problem } from "../problem.ts";

/** What a zip may hold. Meter logs shrink some 5 to 30 times, a bomb 1,000 times (deflate's own limit); both from memory. */
export const zipLimits = {
  files: 10_000,
  bytes: 4 * 2 ** 30,
  ratio: 100,
  ratioCountsFromBytes: 100 * 2 ** 20,
} as const;

interface Entry {
  readonly packed: Uint8Array;
  readonly size: number;
  readonly checksum: number;
  readonly deflated: boolean;
}

export interface ZippedFolder {
  /** path of each file inside the folder, `/` between its parts; a folder that the zip wraps around all of it is left out */
  readonly names: readonly string[];
  /**
   * The bytes of one file, unpacked as they are asked for.
   * @throws {Problem} when the bytes end early, go on too long or do not match their checksum; null where there is no such file
   */
  read(name: string): Iterable<Uint8Array> | null;
  /** bytes of one file when unpacked, as the zip says; null where there is no such file */
  size(name: string): number | null;
}

/**
 * Opens a zip whose bytes are at hand.
 * @param file what an error calls the zip
 * @throws {Problem} when it is no zip, is cut short, is larger than `zipLimits`, or holds what no job folder holds
 */
export function openZip(bytes: Uint8Array, file: string): ZippedFolder {
  const entries = new Map<string, Entry>();
  try {
    for (const [name, entry] of listedEntries(bytes)) {
      if (entries.has(name)) refuse(`should hold each file once; got '${name}' twice`);
      entries.set(name, entry);
    }
    checkSize(entries, bytes.length);
  } catch (error) {
    if (error instanceof RangeError)
      throw new Problem("should be a whole zip; this one is cut short or damaged", { file });
    throw error instanceof Problem ? error.at({ file }) : error;
  }
  const inside = wrapper([...entries.keys()]);
  return {
    names: [...entries.keys()].filter((name) => name.startsWith(inside)).map((name) => name.slice(inside.length)),
    read: (name) => {
      const entry = entries.get(inside + name);
      return entry ? unpacked(entry, name) : null;
    },
    size: (name) => entries.get(inside + name)?.size ?? null,
  };
}

function refuse(reason: string): never {
  throw new Problem(reason);
}

const endMark = 0x06054b50;
const end64Mark = 0x06064b50;
const end64PlaceMark = 0x07064b50;
const entryMark = 0x02014b50;
const fileMark = 0x04034b50;
const symbolicLink = 0xa;

/** The entries of the central directory, folders left out. A RangeError means that an offset leads outside the bytes. */
function* listedEntries(bytes: Uint8Array): Generator<[string, Entry]> {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const { count, start } = directory(view);
  if (count > zipLimits.files) refuse(`should hold at most ${zipLimits.files} files; got ${count}`);
  let at = start;
  for (let i = 0; i < count; i++) {
    if (view.getUint32(at, true) !== entryMark) throw new RangeError("no entry where one should be");
    const [nameLength, extraLength, commentLength] = [28, 30, 32].map((offset) => view.getUint16(at + offset, true));
    const name = entryName(
      bytes.subarray(at + 46, at + 46 + nameLength!),
      (view.getUint16(at + 8, true) & 0x800) !== 0,
    );
    const large = largeFields(view, at, at + 46 + nameLength!, extraLength!);
    if (!name.endsWith("/")) yield [checkedName(name), entryAt(bytes, view, at, name, large)];
    at += 46 + nameLength! + extraLength! + commentLength!;
  }
}

function directory(view: DataView): { count: number; start: number } {
  const lowest = Math.max(0, view.byteLength - 22 - 0xffff);
  for (let at = view.byteLength - 22; at >= lowest; at--) {
    if (view.getUint32(at, true) !== endMark) continue;
    const count = view.getUint16(at + 10, true);
    const start = view.getUint32(at + 16, true);
    if (count !== 0xffff && start !== 0xffffffff) return { count, start };
    if (view.getUint32(at - 20, true) !== end64PlaceMark) return { count, start };
    const end64 = Number(view.getBigUint64(at - 12, true));
    if (view.getUint32(end64, true) !== end64Mark) throw new RangeError("no end record where one should be");
    return { count: Number(view.getBigUint64(end64 + 32, true)), start: Number(view.getBigUint64(end64 + 48, true)) };
  }
  throw new RangeError("no end record");
}

/** Names are UTF-8 where the entry says so; what older packers write is read alike, and plain ASCII is the same in both. */
function entryName(bytes: Uint8Array, utf8: boolean): string {
  const text = decodeUtf8(bytes);
  return (utf8 ? text : (text ?? String.fromCharCode(...bytes))) ?? refuse("should name its files in UTF-8");
}

function decodeUtf8(bytes: Uint8Array): string | null {
  try {
    return decodeURIComponent(Array.from(bytes, (byte) => `%${byte.toString(16).padStart(2, "0")}`).join(""));
  } catch {
    return null;
  }
}

function checkedName(name: string): string {
  const path = name.replaceAll("\\", "/");
  if (path.startsWith("/") || /^[a-z]:/i.test(path) || path.split("/").includes("..") || path.includes("\0")) {
    refuse(`should hold only files inside the folder; got '${name.slice(0, 80)}'`);
  }
  return path.replace(/^(\.\/)+/, "");
}

/** Size, packed size and place as the 32-bit fields have them, or the 64-bit ones beside them. */
function largeFields(view: DataView, at: number, extraStart: number, extraLength: number): [number, number, number] {
  const fields = [24, 20, 42].map((offset) => view.getUint32(at + offset, true)) as [number, number, number];
  for (let extra = extraStart; extra + 4 <= extraStart + extraLength; ) {
    const length = view.getUint16(extra + 2, true);
    if (view.getUint16(extra, true) === 1) {
      let from = extra + 4;
      fields.forEach((field, index) => {
        if (field !== 0xffffffff) return;
        fields[index] = Number(view.getBigUint64(from, true));
        from += 8;
      });
    }
    extra += 4 + length;
  }
  return fields;
}

function entryAt(bytes: Uint8Array, view: DataView, at: number, name: string, large: [number, number, number]): Entry {
  const [size, packedSize, place] = large;
  const method = view.getUint16(at + 10, true);
  if ((view.getUint16(at + 8, true) & 1) !== 0) refuse(`should not be encrypted; '${name}' is`);
  if (method !== 0 && method !== 8)
    refuse(`should be packed by deflate or not at all; '${name}' is packed by method ${method}`);
  if (view.getUint32(at + 38, true) >>> 28 === symbolicLink)
    refuse(`should hold files, not links; '${name}' is a link`);
  if (view.getUint32(place, true) !== fileMark) throw new RangeError("no file where one should be");
  const start = place + 30 + view.getUint16(place + 26, true) + view.getUint16(place + 28, true);
  if (start + packedSize > bytes.length) throw new RangeError("a file goes on past the end");
  return {
    packed: bytes.subarray(start, start + packedSize),
    size,
    checksum: view.getUint32(at + 16, true),
    deflated: method === 8,
  };
}

/** Entries that share their packed bytes are counted each: an overlap is the oldest way to make a bomb. */
function checkSize(entries: ReadonlyMap<string, Entry>, zipBytes: number): void {
  const { bytes, ratio, ratioCountsFromBytes } = zipLimits;
  const total = [...entries.values()].reduce((sum, { size }) => sum + size, 0);
  if (total > bytes)
    refuse(`should unpack to at most ${bytes / 2 ** 30} GiB; it says ${(total / 2 ** 30).toFixed(1)} GiB`);
  if (total > ratioCountsFromBytes && total > ratio * zipBytes) {
    refuse(`should unpack to at most ${ratio} times its size; it says ${Math.round(total / zipBytes)} times`);
  }
}

/** The folder that the zip wraps around job.json, one level and no more; '' where there is none. */
function wrapper(names: readonly string[]): string {
  if (names.includes("job.json")) return "";
  const wrapped = names.filter((name) => /^[^/]+\/job\.json$/.test(name) && !name.startsWith("__MACOSX/"));
  return wrapped.length === 1 ? wrapped[0]!.slice(0, -"job.json".length) : "";
}

/** Packed bytes given to the unpacker at once: what they may swell to (a thousand times) still fits in memory. */
const pieceBytes = 32 * 1024;

function* unpacked(entry: Entry, name: string): Generator<Uint8Array> {
  let length = 0;
  let checksum = 0;
  for (const piece of entry.deflated ? inflated(entry.packed, name) : [entry.packed]) {
    length += piece.length;
    if (length > entry.size) throw damaged(name, `it goes on past the ${entry.size} bytes that the zip says`);
    checksum = checksumOf(piece, checksum);
    yield piece;
  }
  if (length < entry.size) throw damaged(name, `it ends after ${length} of ${entry.size} bytes`);
  if (checksum !== entry.checksum) throw damaged(name, "its checksum does not match its bytes");
}

const damaged = (file: string, how: string) => new Problem(`should be whole inside the zip; ${how}`, { file });

function* inflated(packed: Uint8Array, name: string): Generator<Uint8Array> {
  let pieces: Uint8Array[] = [];
  const inflate = new Inflate((piece) => void pieces.push(piece));
  for (let at = 0; at < packed.length || at === 0; at += pieceBytes) {
    try {
      inflate.push(packed.subarray(at, at + pieceBytes), at + pieceBytes >= packed.length);
    } catch {
      throw damaged(name, "its packed bytes make no sense");
    }
    yield* pieces;
    pieces = [];
  }
}

/** CRC-32 with the polynomial of ISO 3309, as zip files carry it. */
const checksumTable = Uint32Array.from({ length: 256 }, (_, byte) => {
  let remainder = byte;
  for (let bit = 0; bit < 8; bit++) remainder = (remainder & 1 ? 0xedb88320 : 0) ^ (remainder >>> 1);
  return remainder;
});

/**
 * Checksum of bytes, going on from that of the bytes before them.
 * @example checksumOf(new TextEncoder().encode("123456789"), 0) // 0xcbf43926, the published check value
 */
export function checksumOf(bytes: Uint8Array, before: number): number {
  let remainder = ~before;
  for (let i = 0; i < bytes.length; i++) remainder = checksumTable[(remainder ^ bytes[i]!) & 0xff]! ^ (remainder >>> 8);
  return ~remainder >>> 0;
}
