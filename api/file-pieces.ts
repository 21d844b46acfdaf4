/** A file from disk, a piece at a time. */
import { closeSync, openSync, readSync } from "node:fs";
import { Problem } from "../analysis/index.ts";

const pieceBytes = 2 ** 20;

/**
 * @param place where it lies on disk
 * @param name what is said of it
 * @param room where pieces are put, each in place of the one before; without it every piece may be kept
 */
export function* filePieces(place: string, name: string, room?: Uint8Array): Generator<Uint8Array> {
  let file: number;
  try {
    file = openSync(place, "r");
  } catch (error) {
    throw new Problem(`should be readable; the system says ${(error as NodeJS.ErrnoException).code}`, { file: name });
  }
  try {
    for (;;) {
      const piece = room ?? new Uint8Array(pieceBytes);
      const length = readSync(file, piece);
      if (length === 0) return;
      yield piece.subarray(0, length);
    }
  } finally {
    closeSync(file);
  }
}
