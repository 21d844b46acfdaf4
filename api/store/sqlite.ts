/**
 * The embedded database: one file, safe against a crash at any moment (write-ahead log, synced at every commit).
 * A sync costs milliseconds, so writes that wait for the disk together are committed together.
 */
import { setImmediate } from "node:timers/promises";
import SqliteFile from "better-sqlite3";
import { Kysely, SqliteDialect, type SqliteStatement, sql, type Transaction } from "kysely";
import { Problem } from "../../analysis/index.ts";
import type { Database } from "./database.ts";
import { migrate } from "./migrations.ts";
import { sqliteSearch } from "./sqlite-search.ts";
import { storeTrouble } from "./store-trouble.ts";
import type { Tables } from "./tables.ts";

/** Writes of one commit at most: some 10 ms of work. */
const writesTogether = 32;
/** How long another process (a restore, a second server) is waited for. */
const busyMilliseconds = 5_000;

/** @throws {Problem} where the file is no database, or one of a newer program */
export async function openSqlite(path: string): Promise<Database> {
  const file = openFile(path);
  const db = new Kysely<Tables>({ dialect: new SqliteDialect({ database: preparedOnce(file) }) });
  try {
    await migrate(db, "sqlite");
  } catch (error) {
    await db.destroy();
    throw error instanceof Problem ? error.at({ file: path }) : error;
  }
  const write = committedTogether(db);
  return { kind: "sqlite", db, search: sqliteSearch, write, snapshot: snapshotOf(db), close: () => db.destroy() };
}

function openFile(path: string): SqliteFile.Database {
  try {
    const file = new SqliteFile(path, { timeout: busyMilliseconds });
    file.pragma("journal_mode = WAL");
    file.pragma("synchronous = FULL");
    file.pragma("foreign_keys = ON");
    return file;
  } catch (error) {
    if ((error as { code?: string }).code !== "SQLITE_NOTADB") throw error;
    throw new Problem("should be the database of this program; it is damaged or something else", { file: path });
  }
}

/** Statements are compiled once; a transaction takes the write lock when it begins, since it could not get it later. */
function preparedOnce(file: SqliteFile.Database) {
  const statements = new Map<string, SqliteStatement>();
  // a full disk rolls back by itself; what is over already must not hide why
  const rollback: SqliteStatement = {
    reader: false,
    all: () => [],
    run: () => (file.inTransaction ? file.prepare("rollback").run() : { changes: 0, lastInsertRowid: 0 }),
    iterate: () => [][Symbol.iterator](),
  };
  return {
    close: () => void file.close(),
    prepare(text: string) {
      const known = statements.get(text);
      if (known) return known;
      const statement = text === "rollback" ? rollback : file.prepare(text === "begin" ? "begin immediate" : text);
      if (statements.size < 500) statements.set(text, statement);
      return statement;
    },
  };
}

/** A transaction that only reads keeps its moment in the write-ahead log; the connection is its own until it ends. */
function snapshotOf(db: Kysely<Tables>): Database["snapshot"] {
  return (work) =>
    db.connection().execute(async (connection) => {
      await sql`begin deferred`.execute(connection);
      try {
        return await work(connection);
      } finally {
        await sql`commit`.execute(connection);
      }
    });
}

interface Waiting {
  run(change: Transaction<Tables>): Promise<void>;
  safe(): void;
  failed(error: unknown): void;
}

function committedTogether(db: Kysely<Tables>): Database["write"] {
  const waiting: Waiting[] = [];
  let running = false;

  async function drain(): Promise<void> {
    // requests that came in during the last sync have their turn to join
    await setImmediate();
    for (let batch = waiting.splice(0, writesTogether); batch.length > 0; batch = waiting.splice(0, writesTogether)) {
      await commit(db, batch);
      await setImmediate();
    }
    running = false;
  }

  return (work) =>
    new Promise((resolve, reject) => {
      let result: Awaited<ReturnType<typeof work>>;
      waiting.push({
        run: async (change) => {
          result = await work(change);
        },
        safe: () => resolve(result),
        failed: reject,
      });
      if (!running) {
        running = true;
        void drain();
      }
    });
}

/** One transaction; a write that fails is undone alone, and the others stand, unless it failed for want of room. */
async function commit(db: Kysely<Tables>, batch: readonly Waiting[]): Promise<void> {
  const done: Waiting[] = [];
  let trouble: unknown = null;
  try {
    await db.transaction().execute(async (change) => {
      for (const write of batch) {
        await sql`savepoint one_write`.execute(change);
        try {
          await write.run(change);
          done.push(write);
        } catch (error) {
          if (storeTrouble(error) !== null) trouble = error;
          if (trouble !== null) throw error;
          await sql`rollback to one_write`.execute(change);
          write.failed(error);
        }
        await sql`release one_write`.execute(change);
      }
    });
  } catch (error) {
    for (const write of batch) write.failed(trouble ?? error);
    return;
  }
  for (const write of done) write.safe();
}
