/** Bytes on their way in: into a file of their own, hashed as they pass, on disk before they are believed. */
import { createHash, randomUUID } from "node:crypto";
import { type FileHandle, mkdir, open, readdir, rm, stat } from "node:fs/promises";
import { join } from "node:path";
import { HashMismatch, logBytesAtMost, TooLong } from "./log-store.ts";

export interface Spooled {
  readonly path: string;
  readonly bytes: number;
}

/** What a crash left behind is cleared away after this long: no upload takes an hour. */
const leftAfterMilliseconds = 3_600_000;

/** @throws {HashMismatch} @throws {TooLong} and whatever the disk says; the file is gone then */
export async function spool(folder: string, sha256: string, pieces: AsyncIterable<Uint8Array>): Promise<Spooled> {
  const path = join(folder, randomUUID());
  const file = await open(path, "wx");
  try {
    const bytes = await written(file, sha256, pieces);
    await file.sync();
    await file.close();
    return { path, bytes };
  } catch (error) {
    await file.close().catch(() => {});
    await rm(path, { force: true });
    throw error;
  }
}

async function written(file: FileHandle, sha256: string, pieces: AsyncIterable<Uint8Array>): Promise<number> {
  const hash = createHash("sha256");
  let bytes = 0;
  for await (const piece of pieces) {
    bytes += piece.length;
    if (bytes > logBytesAtMost) throw new TooLong();
    hash.update(piece);
    await file.writeFile(piece);
  }
  const found = hash.digest("hex");
  if (found !== sha256) throw new HashMismatch(sha256, found);
  return bytes;
}

export async function openSpool(folder: string): Promise<void> {
  await mkdir(folder, { recursive: true });
  for (const name of await readdir(folder)) {
    const path = join(folder, name);
    const age = Date.now() - (await stat(path).catch(() => ({ mtimeMs: Date.now() }))).mtimeMs;
    if (age > leftAfterMilliseconds) await rm(path, { force: true });
  }
}
