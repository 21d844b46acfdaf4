/**
 * `restore FILE`: a backup into an empty store. It may be broken off and begun again. Afterwards the store has another
 * name and goes on with higher revision numbers, so that devices that knew more than the backup send it again.
 */
import { randomUUID } from "node:crypto";
import { createReadStream } from "node:fs";
import { createGunzip } from "node:zlib";
import { sql } from "kysely";
import { Problem } from "../../analysis/index.ts";
import type { Services } from "../services.ts";
import { factOf, newestVersion, setFact } from "../store/migrations.ts";
import type { JobRow } from "../store/tables.ts";
import { type BackupEnd, backupFormat } from "./backup.ts";
import { type BackupTable, backupTables } from "./backup-tables.ts";
import { type TarEntry, tarEntries } from "./tar.ts";

/** More than was written since any backup that somebody still restores. */
const revisionsSkipped = 1_000_000;
const restoringFact = "restoring";

/** @throws {Problem} where the store is not empty, or the file is no whole backup that this program reads */
export async function restore(services: Services, file: string): Promise<BackupEnd> {
  const { database } = services;
  await checkEmpty(services);
  const seen: BackupEnd = { rows: { shops: 0, accounts: 0, logs: 0, revisions: 0, jobs: 0 }, logs: 0 };
  let end: BackupEnd | null = null;
  let begun = false;
  for await (const entry of tarEntries(unpacked(file), file)) {
    if (!begun) {
      await checkFormat(entry, file);
      await database.write((change) => setFact(change, restoringFact, file));
      begun = true;
    } else if (entry.name === "end.json") end = JSON.parse(await textOf(entry)) as BackupEnd;
    else if (entry.name.startsWith("logs/") && !entry.name.endsWith(".jsonl")) await restoreLog(services, entry, seen);
    else await restoreRows(services, entry, seen);
  }
  if (JSON.stringify(end) !== JSON.stringify(seen)) {
    throw new Problem("should be a whole backup; some of what it says it holds is not in it", { file });
  }
  await goOn(services);
  return seen;
}

/** Whether a restore was begun and not finished: such a store should not be served. */
export const isHalfRestored = async ({ database }: Pick<Services, "database">): Promise<boolean> =>
  (await factOf(database.db, restoringFact)) !== null && (await factOf(database.db, restoringFact)) !== "";

async function checkEmpty(services: Services): Promise<void> {
  if (await isHalfRestored(services)) return;
  const job = await services.database.db.selectFrom("revisions").select("job").limit(1).executeTakeFirst();
  if (job) throw new Problem("the store should be empty, so that a backup can be restored into it; it holds jobs");
}

async function* unpacked(file: string): AsyncGenerator<Uint8Array> {
  const source = createReadStream(file).on("error", (error) => gunzip.destroy(error));
  const gunzip = createGunzip();
  try {
    yield* source.pipe(gunzip);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === "ENOENT") throw new Problem("should be a backup; there is no such file", { file });
    if (code?.startsWith("Z_"))
      throw new Problem("should be a whole backup of this program; it is damaged or something else", { file });
    throw error;
  }
}

async function textOf({ pieces }: TarEntry): Promise<string> {
  const all: Uint8Array[] = [];
  for await (const piece of pieces) all.push(piece);
  return Buffer.concat(all).toString("utf8");
}

async function checkFormat(entry: TarEntry, file: string): Promise<void> {
  const about =
    entry.name === "backup.json" ? (JSON.parse(await textOf(entry)) as { format?: string; version?: number }) : {};
  if (about.format === backupFormat && (about.version ?? 0) <= newestVersion) return;
  const found =
    about.format === undefined ? "something else" : `${about.format} of a store of version ${about.version}`;
  throw new Problem(`should be ${backupFormat} of a store of version ${newestVersion} or older; it is ${found}`, {
    file,
  });
}

async function restoreRows({ database }: Services, entry: TarEntry, seen: BackupEnd): Promise<void> {
  const table = entry.name.split("/")[0] as BackupTable;
  if (!(table in backupTables)) throw new Problem(`should hold only what a backup holds; it has ${entry.name}`);
  const rows = (await textOf(entry)).split("\n").map((line) => JSON.parse(line) as Record<string, unknown>);
  await database.write(async (change) => {
    for (const row of rows) {
      await change
        .insertInto(table)
        .values(row as never)
        .onConflict((conflict) => conflict.doNothing())
        .execute();
      if (table === "jobs") await database.search.index(change, row as unknown as JobRow);
    }
  });
  seen.rows[table] += rows.length;
}

async function restoreLog({ logStore }: Services, entry: TarEntry, seen: BackupEnd): Promise<void> {
  await logStore.keep(entry.name.slice("logs/".length), entry.pieces);
  (seen as { logs: number }).logs++;
}

async function goOn({ database }: Services): Promise<void> {
  await database.write(async (change) => {
    await change
      .updateTable("shops")
      .set((row) => ({ last_revision: row("last_revision", "+", revisionsSkipped) }))
      .execute();
    await setFact(change, "identity", randomUUID());
    await setFact(change, restoringFact, "");
  });
  // after so many rows at once the database's own figures of them are out of date, and it would search the long way
  await sql`analyze`.execute(database.db);
}
