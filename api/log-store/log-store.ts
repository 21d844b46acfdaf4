/** Where the bytes of meter logs are kept: under their own hash, so that they are kept once and can be checked at any time. */
export interface LogStore {
  /**
   * Keeps bytes; they are safe when the promise is fulfilled. Sending them twice is harmless.
   * @param sha256 lower-case hex
   * @returns how many bytes
   * @throws {HashMismatch} when the bytes have another hash, {TooLong} when they are too many; nothing is kept then
   */
  keep(sha256: string, pieces: AsyncIterable<Uint8Array>): Promise<number>;
  /** null: not kept here. The pieces end with a DamagedLog where the bytes are no longer those that were kept. */
  read(sha256: string): Promise<KeptLog | null>;
  /** hashes of everything kept */
  all(): AsyncIterable<string>;
  /** throws where the store cannot be reached */
  answers(): Promise<void>;
}

export interface KeptLog {
  readonly bytes: number;
  readonly pieces: AsyncIterable<Uint8Array>;
}

export const logBytesAtMost = 2 ** 30;

export class HashMismatch extends Error {
  constructor(
    readonly expected: string,
    readonly found: string,
  ) {
    super(`the bytes should have the SHA-256 ${expected}; they have ${found}`);
  }
}

export class TooLong extends Error {
  constructor() {
    super(`a log should be at most ${logBytesAtMost} bytes long`);
  }
}

export class DamagedLog extends Error {
  constructor(sha256: string, how: string) {
    super(`the log ${sha256} is damaged in the store: ${how}`);
  }
}

export async function allBytes(log: KeptLog): Promise<Uint8Array> {
  const pieces: Uint8Array[] = [];
  for await (const piece of log.pieces) pieces.push(piece);
  return Buffer.concat(pieces);
}
