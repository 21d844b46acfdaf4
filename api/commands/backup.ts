/**
 * `backup FILE`: everything that is kept, as one compressed archive: the tables as lines of JSON, the logs as they are.
 * It is one moment of the store, and the server may go on working: logs never change once they are recorded.
 */
import { createWriteStream } from "node:fs";
import { open, rename, rm } from "node:fs/promises";
import { Readable } from "node:stream";
import { pipeline } from "node:stream/promises";
import { createGzip } from "node:zlib";
import type { Kysely } from "kysely";
import { programVersion } from "../program-version.ts";
import type { Services } from "../services.ts";
import { newestVersion } from "../store/migrations.ts";
import type { Tables } from "../store/tables.ts";
import { type BackupTable, backupTables, rowsOf } from "./backup-tables.ts";
import { tarEnd, tarHeader, tarPadding } from "./tar.ts";

export const backupFormat = "backup/1";

/** Counts at the end of a backup: without them it was cut short. */
export interface BackupEnd {
  readonly rows: Record<BackupTable, number>;
  readonly logs: number;
}

/** The file appears under its name when it is whole and on disk. */
export async function backup({ database, logStore }: Services, file: string): Promise<BackupEnd> {
  const beside = `${file}.partial`;
  const counts: BackupEnd = { rows: { shops: 0, accounts: 0, logs: 0, revisions: 0, jobs: 0 }, logs: 0 };
  try {
    const end = await database.snapshot(async (db) => {
      const pieces = Readable.from(archive(db, logStore, counts), { objectMode: false });
      await pipeline(pieces, createGzip({ level: 4 }), createWriteStream(beside, { mode: 0o600 }));
      return counts;
    });
    const written = await open(beside, "r");
    await written.sync();
    await written.close();
    await rename(beside, file);
    return end;
  } catch (error) {
    await rm(beside, { force: true });
    throw error;
  }
}

async function* archive(
  db: Kysely<Tables>,
  logStore: Services["logStore"],
  counts: BackupEnd,
): AsyncGenerator<Uint8Array> {
  const about = {
    format: backupFormat,
    version: newestVersion,
    program: programVersion(),
    made: new Date().toISOString(),
  };
  yield* textEntry("backup.json", JSON.stringify(about));
  const logs = new Set<string>();
  for (const table of Object.keys(backupTables) as BackupTable[]) {
    let part = 0;
    for await (const rows of rowsOf(db, table)) {
      counts.rows[table] += rows.length;
      if (table === "logs") for (const { sha256 } of rows) logs.add(String(sha256));
      yield* textEntry(`${table}/${part++}.jsonl`, rows.map((row) => JSON.stringify(row)).join("\n"));
    }
  }
  const mutable = counts as { -readonly [Key in keyof BackupEnd]: BackupEnd[Key] };
  for (const sha256 of logs) {
    const log = await logStore.read(sha256);
    if (!log) throw new Error(`the log ${sha256} is recorded and not in the store (verify-store says more)`);
    yield tarHeader(`logs/${sha256}`, log.bytes);
    yield* log.pieces;
    yield tarPadding(log.bytes);
    mutable.logs++;
  }
  yield* textEntry("end.json", JSON.stringify(counts));
  yield tarEnd();
}

function* textEntry(name: string, text: string): Generator<Uint8Array> {
  const bytes = new TextEncoder().encode(text);
  yield tarHeader(name, bytes.length);
  yield bytes;
  yield tarPadding(bytes.length);
}
