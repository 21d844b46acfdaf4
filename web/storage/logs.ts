/**
 * Meter logs, kept under the lower-case hex SHA-256 of their bytes: the same log given twice is kept once.
 */
import { database, type StoredFile } from "./database.ts";

export async function keepLog(file: Blob): Promise<StoredFile> {
  const bytes = await file.arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  const sha256 = Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
  const db = await database();
  await db.put("logs", new Blob([bytes]), sha256);
  return { sha256, bytes: bytes.byteLength };
}

export async function findLog(sha256: string): Promise<Blob | undefined> {
  return (await database()).get("logs", sha256);
}

/** Lets go of the logs that no kept job names. */
export async function dropUnnamedLogs(): Promise<void> {
  const db = await database();
  const change = db.transaction(["jobs", "logs"], "readwrite");
  const jobs = await change.objectStore("jobs").getAll();
  const named = new Set(jobs.flatMap((job) => Object.values(job.files).map((file) => file.sha256)));
  for (const sha256 of await change.objectStore("logs").getAllKeys()) {
    if (!named.has(sha256)) await change.objectStore("logs").delete(sha256);
  }
  await change.done;
}
