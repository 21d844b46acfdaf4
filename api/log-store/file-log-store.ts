/**
 * Logs in files: `ab/abcdef…` under one folder. A log is written beside, synced and renamed, and the folder is synced,
 * so that after a crash it is either whole under its name or not there.
 */
import { createReadStream } from "node:fs";
import { mkdir, open, readdir, rename, stat } from "node:fs/promises";
import { join } from "node:path";
import { checkedPieces } from "./checked-pieces.ts";
import type { LogStore } from "./log-store.ts";
import { openSpool, spool } from "./spool.ts";

const pieceBytes = 256 * 1024;

export async function fileLogStore(root: string): Promise<LogStore> {
  const incoming = join(root, "incoming");
  await openSpool(incoming);
  const folderOf = (sha256: string) => join(root, sha256.slice(0, 2));
  const placeOf = (sha256: string) => join(folderOf(sha256), sha256);

  return {
    async keep(sha256, pieces) {
      const { path, bytes } = await spool(incoming, sha256, pieces);
      const folder = folderOf(sha256);
      if (await mkdir(folder, { recursive: true })) await syncFolder(root);
      await rename(path, placeOf(sha256));
      await syncFolder(folder);
      return bytes;
    },

    async read(sha256) {
      const path = placeOf(sha256);
      const found = await stat(path).catch(missing);
      if (!found) return null;
      return { bytes: found.size, pieces: checkedPieces(sha256, found.size, piecesOf(path)) };
    },

    async *all() {
      for (const folder of await readdir(root)) {
        if (!/^[0-9a-f]{2}$/.test(folder)) continue;
        for (const name of await readdir(join(root, folder))) if (/^[0-9a-f]{64}$/.test(name)) yield name;
      }
    },

    async answers() {
      await stat(incoming);
    },
  };
}

/** The file is opened when the first piece is asked for: a reader that never starts leaves nothing open. */
async function* piecesOf(path: string): AsyncGenerator<Uint8Array> {
  yield* createReadStream(path, { highWaterMark: pieceBytes });
}

function missing(error: NodeJS.ErrnoException): null {
  if (error.code === "ENOENT") return null;
  throw error;
}

/** A new name in a folder is on disk only once the folder is. */
async function syncFolder(path: string): Promise<void> {
  const folder = await open(path, "r");
  try {
    await folder.sync();
  } finally {
    await folder.close();
  }
}
