/** `import FOLDER`: a job folder, or a zip of one, into the store as a new job, its logs with it. */
import { createHash, randomUUID } from "node:crypto";
import { openJobFolder } from "../job-folder.ts";
import { newDocument } from "../kept-document.ts";
import type { Services } from "../services.ts";
import { ownShop } from "../store/job-store.ts";

/** @returns id of the new job @throws {Problem} where it is no job folder */
export async function importFolder(services: Services, path: string, shop = ownShop): Promise<string> {
  const { logStore, logRecords, jobs } = services;
  const folder = openJobFolder(path);
  const hashes = new Map<string, string>();
  for (const file of new Set(folder.job.recordings.map((recording) => recording.file))) {
    const hash = createHash("sha256");
    for (const piece of folder.readLog(file)) hash.update(piece);
    const sha256 = hash.digest("hex");
    const bytes = await logStore.keep(sha256, eventually(folder.readLog(file)));
    await logRecords.record(shop, sha256, bytes);
    hashes.set(file, sha256);
  }
  const recordings = folder.job.recordings.map((recording) => ({ ...recording, sha256: hashes.get(recording.file)! }));
  const document = newDocument(JSON.stringify({ ...folder.job, recordings }));
  const id = randomUUID();
  await jobs.keep({ shop, account: null }, id, document, "absent");
  return id;
}

async function* eventually(pieces: Iterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  yield* pieces;
}
