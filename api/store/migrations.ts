/**
 * How the database came to be as it is: one step a version, never changed once released, each in a transaction of its own.
 * A database that a newer program has written is refused, since this one cannot know what it would break.
 */
import { randomUUID } from "node:crypto";
import { type Kysely, sql } from "kysely";
import { Problem } from "../../analysis/index.ts";
import type { Tables } from "./tables.ts";

type Step = (db: Kysely<Tables>, kind: "sqlite" | "postgres") => Promise<void>;

const steps: readonly Step[] = [jobsAndLogs, accounts];
export const newestVersion = steps.length;

/** Any number that no other program on the same PostgreSQL is likely to lock by. */
const migrationLock = 7_106_512;

/** @throws {Problem} where the database is newer than this program */
export async function migrate(db: Kysely<Tables>, kind: "sqlite" | "postgres"): Promise<void> {
  for (;;) {
    const done = await db.transaction().execute(async (change) => {
      // several servers may start at once: the second waits here, and finds the work done
      if (kind === "postgres") await sql`select pg_advisory_xact_lock(${migrationLock})`.execute(change);
      await sql`create table if not exists store_facts (fact text primary key, value text not null)`.execute(change);
      const version = Number((await factOf(change, "version")) ?? 0);
      if (version > newestVersion) throw tooNew(version);
      const step = steps[version];
      if (!step) return true;
      await step(change, kind);
      await setFact(change, "version", String(version + 1));
      return false;
    });
    if (done) return;
  }
}

function tooNew(version: number): Problem {
  return new Problem(
    `the database should be of version ${newestVersion} or older, which this program reads; it is of version ${version}, written by a newer program`,
  );
}

export async function factOf(db: Kysely<Tables>, fact: string): Promise<string | null> {
  const row = await db.selectFrom("store_facts").select("value").where("fact", "=", fact).executeTakeFirst();
  return row?.value ?? null;
}

export async function setFact(db: Kysely<Tables>, fact: string, value: string): Promise<void> {
  await db
    .insertInto("store_facts")
    .values({ fact, value })
    .onConflict((conflict) => conflict.column("fact").doUpdateSet({ value }))
    .execute();
}

async function jobsAndLogs(db: Kysely<Tables>, kind: "sqlite" | "postgres"): Promise<void> {
  const tables = db.schema;
  await tables
    .createTable("shops")
    .addColumn("id", "text", (column) => column.primaryKey())
    .addColumn("name", "text", (column) => column.notNull())
    .addColumn("last_revision", "bigint", (column) => column.notNull().defaultTo(0))
    .execute();
  await tables
    .createTable("jobs")
    .addColumn("shop", "text", (column) => column.notNull())
    .addColumn("id", "text", (column) => column.notNull())
    .addColumn("revision", "bigint", (column) => column.notNull())
    .addColumn("deleted", "integer", (column) => column.notNull())
    .addColumn("title", "text", (column) => column.notNull())
    .addColumn("updated_ms", "bigint", (column) => column.notNull())
    .addColumn("words", "text", (column) => column.notNull())
    .addPrimaryKeyConstraint("jobs_key", ["shop", "id"])
    .execute();
  await tables.createIndex("jobs_in_order").on("jobs").columns(["shop", "revision"]).unique().execute();
  await tables
    .createIndex("jobs_listed")
    .on("jobs")
    .columns(["shop", "revision"])
    .where(sql.ref("deleted"), "=", sql.lit(0))
    .execute();
  await tables
    .createTable("revisions")
    .addColumn("shop", "text", (column) => column.notNull())
    .addColumn("job", "text", (column) => column.notNull())
    .addColumn("revision", "bigint", (column) => column.notNull())
    .addColumn("base", "bigint")
    .addColumn("sibling", "integer", (column) => column.notNull())
    .addColumn("document", "text")
    .addColumn("sha256", "text")
    .addColumn("written_ms", "bigint", (column) => column.notNull())
    .addColumn("account", "text")
    .addPrimaryKeyConstraint("revisions_key", ["shop", "job", "revision"])
    .execute();
  await tables
    .createTable("logs")
    .addColumn("shop", "text", (column) => column.notNull())
    .addColumn("sha256", "text", (column) => column.notNull())
    .addColumn("bytes", "bigint", (column) => column.notNull())
    .addColumn("kept_ms", "bigint", (column) => column.notNull())
    .addPrimaryKeyConstraint("logs_key", ["shop", "sha256"])
    .execute();
  await tables
    .createTable("diagnoses")
    .addColumn("key", "text", (column) => column.primaryKey())
    .addColumn("document", "text", (column) => column.notNull())
    .addColumn("made_ms", "bigint", (column) => column.notNull())
    .execute();
  await tables.createIndex("diagnoses_by_age").on("diagnoses").column("made_ms").execute();
  if (kind === "sqlite") {
    await sql`create virtual table job_words using fts5 (words, tokenize = 'unicode61 remove_diacritics 0', prefix = '1 2 3 4')`.execute(
      db,
    );
    await sql`create table job_word_rows (place integer primary key, shop text not null, job text not null, unique (shop, job))`.execute(
      db,
    );
  } else {
    await sql`create index jobs_by_word on jobs using gin (array_to_tsvector(string_to_array(words, ' '))) where words <> ''`.execute(
      db,
    );
  }
  await setFact(db, "identity", randomUUID());
}

async function accounts({ schema: tables }: Kysely<Tables>): Promise<void> {
  await tables
    .createTable("accounts")
    .addColumn("id", "text", (column) => column.primaryKey())
    .addColumn("shop", "text", (column) => column.notNull())
    .addColumn("name", "text", (column) => column.notNull().unique())
    .addColumn("password", "text", (column) => column.notNull())
    .addColumn("made_ms", "bigint", (column) => column.notNull())
    .execute();
  await tables
    .createTable("sessions")
    .addColumn("token_hash", "text", (column) => column.primaryKey())
    .addColumn("shop", "text", (column) => column.notNull())
    .addColumn("account", "text")
    .addColumn("label", "text", (column) => column.notNull())
    .addColumn("made_ms", "bigint", (column) => column.notNull())
    .addColumn("ends_ms", "bigint", (column) => column.notNull())
    .execute();
  await tables
    .createTable("pairings")
    .addColumn("code_hash", "text", (column) => column.primaryKey())
    .addColumn("shop", "text", (column) => column.notNull())
    .addColumn("account", "text")
    .addColumn("ends_ms", "bigint", (column) => column.notNull())
    .execute();
  await tables
    .createTable("sign_in_failures")
    .addColumn("who", "text", (column) => column.primaryKey())
    .addColumn("failures", "integer", (column) => column.notNull())
    .addColumn("blocked_until_ms", "bigint", (column) => column.notNull())
    .execute();
}
