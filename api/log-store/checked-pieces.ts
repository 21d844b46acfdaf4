/** Bytes on their way out of the store, hashed as they pass: the last piece is given on only when all of them are right. */
import { createHash } from "node:crypto";
import { DamagedLog } from "./log-store.ts";

export async function* checkedPieces(
  sha256: string,
  bytes: number,
  pieces: AsyncIterable<Uint8Array>,
): AsyncGenerator<Uint8Array> {
  const hash = createHash("sha256");
  let length = 0;
  let held: Uint8Array | null = null;
  for await (const piece of pieces) {
    hash.update(piece);
    length += piece.length;
    if (held) yield held;
    held = piece;
  }
  if (length !== bytes) throw new DamagedLog(sha256, `it should have ${bytes} bytes; it has ${length}`);
  const found = hash.digest("hex");
  if (found !== sha256) throw new DamagedLog(sha256, `its bytes have the hash ${found}`);
  if (held) yield held;
}
