/**
 * A tar archive as a stream, written and read: the plainest container there is, which any system can open.
 * Source: POSIX.1-1988 ustar header, 512 bytes (field offsets from memory); names up to 100 bytes and files up to 8 GiB are enough here.
 */
import { Problem } from "../../analysis/index.ts";

const block = 512;

export function tarHeader(name: string, bytes: number): Uint8Array {
  const header = Buffer.alloc(block);
  header.write(name, 0, 100, "utf8");
  header.write("0000600\0", 100);
  header.write("0000000\0", 108);
  header.write("0000000\0", 116);
  header.write(`${bytes.toString(8).padStart(11, "0")}\0`, 124);
  header.write("00000000000\0", 136);
  header.write("        ", 148);
  header.write("0", 156);
  header.write("ustar\0", 257);
  header.write("00", 263);
  header.write(`${checksum(header).toString(8).padStart(6, "0")}\0 `, 148);
  return header;
}

export const tarPadding = (bytes: number): Uint8Array => new Uint8Array((block - (bytes % block)) % block);
export const tarEnd = (): Uint8Array => new Uint8Array(2 * block);

const checksum = (header: Uint8Array): number => header.reduce((sum, byte) => sum + byte, 0);

export interface TarEntry {
  readonly name: string;
  readonly bytes: number;
  /** to be read to its end before the next entry is asked for */
  readonly pieces: AsyncIterable<Uint8Array>;
}

/** @throws {Problem} where the archive is damaged or ends early */
export async function* tarEntries(source: AsyncIterable<Uint8Array>, file: string): AsyncGenerator<TarEntry> {
  const reader = new Reader(source, file);
  for (;;) {
    const header = await reader.exactly(block);
    if (header.every((byte) => byte === 0)) return;
    const sum = Number.parseInt(header.toString("latin1", 148, 154), 8);
    header.fill(" ", 148, 156);
    if (sum !== checksum(header)) throw new Problem("should be a backup of this program; it is damaged", { file });
    const name = header.toString("utf8", 0, 100).replace(/\0.*$/s, "");
    const bytes = Number.parseInt(header.toString("latin1", 124, 135), 8);
    yield { name, bytes, pieces: reader.some(bytes) };
    await reader.exactly((block - (bytes % block)) % block);
  }
}

class Reader {
  readonly #source: AsyncIterator<Uint8Array>;
  readonly #file: string;
  #held: Buffer = Buffer.alloc(0);

  constructor(source: AsyncIterable<Uint8Array>, file: string) {
    this.#source = source[Symbol.asyncIterator]();
    this.#file = file;
  }

  async exactly(bytes: number): Promise<Buffer> {
    const pieces: Uint8Array[] = [];
    for await (const piece of this.some(bytes)) pieces.push(piece);
    return Buffer.concat(pieces);
  }

  async *some(bytes: number): AsyncGenerator<Uint8Array> {
    for (let left = bytes; left > 0; ) {
      if (this.#held.length === 0) this.#held = Buffer.from(await this.#next());
      const piece = this.#held.subarray(0, left);
      this.#held = this.#held.subarray(piece.length);
      left -= piece.length;
      yield piece;
    }
  }

  async #next(): Promise<Uint8Array> {
    const { value, done } = await this.#source.next();
    if (done) throw new Problem("should be a whole backup; it ends early", { file: this.#file });
    return value;
  }
}
