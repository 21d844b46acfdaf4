/**
 * Job documents with their revisions. A document is replaced whole, by whoever knows the revision it replaces;
 * what comes from an older one is kept beside as a sibling, so that nothing that reached this store is lost.
 */
import { createHash } from "node:crypto";
import type { Kysely, Transaction } from "kysely";
import type { Database } from "./database.ts";
import { factOf } from "./migrations.ts";
import { askedWords } from "./search-words.ts";
import type { JobRow, RevisionRow, Tables } from "./tables.ts";

/** A document on its way in, with what the list and the search say of it. */
export interface NewDocument {
  readonly text: string;
  readonly title: string;
  readonly words: string;
}

/** What must be true for a write to happen. */
export type Expected = "absent" | "present" | readonly number[];

export interface Author {
  readonly shop: string;
  readonly account: string | null;
}

export type KeepResult =
  | { readonly kept: true; readonly revision: number; readonly created: boolean }
  /** `current`: the newest revision, null where the job was never kept; `sibling`: where the document that lost is kept */
  | { readonly kept: false; readonly current: CurrentRevision | null; readonly sibling: Sibling | null };

export interface CurrentRevision {
  readonly revision: number;
  readonly deleted: boolean;
}

export interface Sibling {
  readonly revision: number;
  /** the very same document already stands in the job's line of revisions, after its base: the answer to it was lost, not the race */
  readonly inLine: boolean;
}

export interface KeptDocument {
  readonly revision: number;
  readonly text: string;
}

export interface JobEntry {
  readonly id: string;
  readonly title: string;
  readonly updatedMilliseconds: number;
  readonly revision: number;
}

export interface Change {
  readonly id: string;
  readonly revision: number;
  readonly deleted: boolean;
}

export interface RevisionEntry {
  readonly revision: number;
  readonly base: number | null;
  readonly sibling: boolean;
  readonly deleted: boolean;
  readonly writtenMilliseconds: number;
  readonly account: string | null;
}

export type JobStore = ReturnType<typeof jobStore>;

/** The shop of whoever works without an account. */
export const ownShop = "own";

export function jobStore({ db, write, search }: Database, now: () => number = Date.now) {
  const current = (from: Kysely<Tables>, shop: string, id: string) =>
    from.selectFrom("jobs").selectAll().where("shop", "=", shop).where("id", "=", id).executeTakeFirst();

  async function setCurrent(change: Transaction<Tables>, row: JobRow): Promise<void> {
    const { shop, id, ...fields } = row;
    await change
      .insertInto("jobs")
      .values(row)
      .onConflict((conflict) => conflict.columns(["shop", "id"]).doUpdateSet(fields))
      .execute();
    await search.index(change, row);
  }

  return {
    /** Keeps a document as the job's newest revision, or beside it where it was made from another than the newest. */
    keep(author: Author, id: string, document: NewDocument, expected: Expected): Promise<KeepResult> {
      return write(async (change) => {
        const { shop, account } = author;
        const revision = await nextRevision(change, shop);
        const stands = await current(change, shop, id);
        const row: RevisionRow = {
          ...{ shop, job: id, revision, account, written_ms: now(), sibling: 0 },
          base: baseOf(expected),
          document: document.text,
          sha256: hashOf(document.text),
        };
        if (!meets(stands, expected)) {
          const sibling = stands ? await keepBeside(change, row) : null;
          return { kept: false, current: stands ? currentOf(stands) : null, sibling };
        }
        await change.insertInto("revisions").values(row).execute();
        const { title, words } = document;
        await setCurrent(change, { shop, id, revision, deleted: 0, title, words, updated_ms: row.written_ms });
        return { kept: true, revision, created: stands === undefined || stands.deleted === 1 };
      });
    },

    /** Deletes a job: a revision without a document, after which it can be created anew. Null: there is no such job. */
    remove(author: Author, id: string, expected: "present" | readonly number[]): Promise<KeepResult | null> {
      return write(async (change) => {
        const { shop, account } = author;
        const revision = await nextRevision(change, shop);
        const stands = await current(change, shop, id);
        if (!stands || stands.deleted === 1) return null;
        if (!meets(stands, expected)) return { kept: false, current: currentOf(stands), sibling: null };
        const written = { written_ms: now(), document: null, sha256: null, sibling: 0 };
        await change
          .insertInto("revisions")
          .values({ shop, job: id, revision, base: stands.revision, account, ...written })
          .execute();
        await setCurrent(change, { ...stands, revision, deleted: 1, words: "", updated_ms: written.written_ms });
        return { kept: true, revision, created: false };
      });
    },

    async find(shop: string, id: string): Promise<KeptDocument | null> {
      const row = await db
        .selectFrom("jobs")
        .innerJoin("revisions", (join) =>
          join
            .onRef("revisions.shop", "=", "jobs.shop")
            .onRef("revisions.job", "=", "jobs.id")
            .onRef("revisions.revision", "=", "jobs.revision"),
        )
        .select(["jobs.revision", "revisions.document"])
        .where("jobs.shop", "=", shop)
        .where("jobs.id", "=", id)
        .where("jobs.deleted", "=", 0)
        .executeTakeFirst();
      return row ? { revision: row.revision, text: row.document! } : null;
    },

    /** Every revision of a job and every sibling, newest first; empty where it was never kept. */
    async revisions(shop: string, id: string): Promise<RevisionEntry[]> {
      const rows = await db
        .selectFrom("revisions")
        .select(["revision", "base", "sibling", "sha256", "written_ms", "account"])
        .where("shop", "=", shop)
        .where("job", "=", id)
        .orderBy("revision", "desc")
        .execute();
      return rows.map(({ revision, base, sibling, sha256, written_ms, account }) => ({
        ...{ revision, base, account, sibling: sibling === 1, deleted: sha256 === null },
        writtenMilliseconds: written_ms,
      }));
    },

    async findRevision(shop: string, id: string, revision: number): Promise<KeptDocument | null> {
      const row = await db
        .selectFrom("revisions")
        .select("document")
        .where("shop", "=", shop)
        .where("job", "=", id)
        .where("revision", "=", revision)
        .executeTakeFirst();
      return row?.document ? { revision, text: row.document } : null;
    },

    /** A page of jobs, the last changed first. @param before revision of the last job of the page before */
    async list(shop: string, limit: number, query = "", before: number | null = null): Promise<JobEntry[]> {
      const words = askedWords(query);
      // a search for signs alone finds nothing rather than everything
      if (words.length === 0 && query.trim() !== "") return [];
      const asked = { shop, words, limit, before: before ?? Number.MAX_SAFE_INTEGER };
      const rows = words.length > 0 ? await search.find(db, asked) : await newest(db, asked);
      return rows.map(({ id, title, updated_ms, revision }) => ({
        ...{ id, title, revision },
        updatedMilliseconds: updated_ms,
      }));
    },

    /** The newest revision of a job, deleted or not. */
    async currentRevision(shop: string, id: string): Promise<CurrentRevision | null> {
      const row = await current(db, shop, id);
      return row ? currentOf(row) : null;
    },

    /** Jobs that changed after revision `since`, oldest first; each once, as it stands now. */
    async changes(shop: string, since: number, limit: number): Promise<Change[]> {
      const rows = await db
        .selectFrom("jobs")
        .select(["id", "revision", "deleted"])
        .where("shop", "=", shop)
        .where("revision", ">", since)
        .orderBy("revision")
        .limit(limit)
        .execute();
      return rows.map(({ id, revision, deleted }) => ({ id, revision, deleted: deleted === 1 }));
    },

    /** Names this store: another one, or this one restored from a backup, has another. */
    async identity(): Promise<string> {
      return (await factOf(db, "identity")) ?? "";
    },
  };
}

/**
 * The shop's next revision number. It locks the shop's row until the transaction ends: no later number can be
 * committed before an earlier one, which is what makes the changes feed gapless.
 */
async function nextRevision(change: Transaction<Tables>, shop: string): Promise<number> {
  const { last_revision } = await change
    .insertInto("shops")
    .values({ id: shop, name: shop, last_revision: 1 })
    .onConflict((conflict) =>
      conflict.column("id").doUpdateSet((row) => ({ last_revision: row("shops.last_revision", "+", 1) })),
    )
    .returning("last_revision")
    .executeTakeFirstOrThrow();
  return last_revision;
}

function meets(stands: JobRow | undefined, expected: Expected): boolean {
  const present = stands !== undefined && stands.deleted === 0;
  if (expected === "absent") return !present;
  if (expected === "present") return present;
  return present && expected.includes(stands.revision);
}

/** A document sent twice is kept once. */
async function keepBeside(change: Transaction<Tables>, row: RevisionRow): Promise<Sibling> {
  const same = await change
    .selectFrom("revisions")
    .select(["revision", "sibling"])
    .where("shop", "=", row.shop)
    .where("job", "=", row.job)
    .where("sha256", "=", row.sha256)
    .orderBy("sibling")
    .orderBy("revision", "desc")
    .executeTakeFirst();
  if (same) return { revision: same.revision, inLine: same.sibling === 0 && same.revision > (row.base ?? 0) };
  await change
    .insertInto("revisions")
    .values({ ...row, sibling: 1 })
    .execute();
  return { revision: row.revision, inLine: false };
}

function newest(db: Kysely<Tables>, { shop, before, limit }: { shop: string; before: number; limit: number }) {
  return db
    .selectFrom("jobs")
    .selectAll()
    .where("shop", "=", shop)
    .where("deleted", "=", 0)
    .where("revision", "<", before)
    .orderBy("revision", "desc")
    .limit(limit)
    .execute();
}

const baseOf = (expected: Expected): number | null => (typeof expected === "string" ? null : (expected.at(-1) ?? null));

const currentOf = ({ revision, deleted }: JobRow): CurrentRevision => ({ revision, deleted: deleted === 1 });

const hashOf = (text: string): string => createHash("sha256").update(text).digest("hex");
