/** `verify-store`: every hash and every reference of what is kept, looked at one by one. */
import { createHash } from "node:crypto";
import { Problem, parseJob } from "../../analysis/index.ts";
import { filesOf } from "../kept-document.ts";
import type { Services } from "../services.ts";
import type { RevisionRow } from "../store/tables.ts";
import { rowsOf } from "./backup-tables.ts";

export interface StoreReport {
  readonly jobs: number;
  readonly revisions: number;
  readonly logs: number;
  /** what is lost or damaged, a sentence each */
  readonly damage: readonly string[];
  /** what is odd and harmless: logs that were never sent, bytes that nobody recorded */
  readonly notes: readonly string[];
}

export async function verifyStore({ database, logStore }: Services): Promise<StoreReport> {
  const damage: string[] = [];
  const notes: string[] = [];
  const counts = { jobs: 0, revisions: 0, logs: 0 };
  return database.snapshot(async (db) => {
    const recorded = new Map<string, number>();
    const ofShop = new Set<string>();
    for await (const rows of rowsOf(db, "logs")) {
      for (const { shop, sha256, bytes } of rows as { shop: string; sha256: string; bytes: number }[]) {
        ofShop.add(`${shop} ${sha256}`);
        recorded.set(sha256, bytes);
      }
    }
    for (const [sha256, bytes] of recorded) {
      counts.logs++;
      const trouble = await logTrouble(logStore, sha256, bytes);
      if (trouble) damage.push(trouble);
    }
    const current = new Set<string>();
    for await (const rows of rowsOf(db, "jobs")) {
      for (const { shop, id, revision } of rows) {
        counts.jobs++;
        current.add(`${shop} ${id} ${revision}`);
      }
    }
    for await (const rows of rowsOf(db, "revisions")) {
      for (const row of rows as unknown as RevisionRow[]) {
        counts.revisions++;
        const isCurrent = current.delete(`${row.shop} ${row.job} ${row.revision}`);
        const trouble = revisionTrouble(row);
        if (trouble) damage.push(trouble);
        else if (isCurrent && row.document !== null) notes.push(...missingLogs(row, ofShop));
      }
    }
    for (const job of current) damage.push(`job ${job.split(" ")[1]}: its newest revision is not there`);
    for await (const sha256 of logStore.all()) {
      if (!recorded.has(sha256)) notes.push(`log ${sha256}: kept, and recorded for nobody`);
    }
    return { ...counts, damage, notes };
  });
}

async function logTrouble(logStore: Services["logStore"], sha256: string, bytes: number): Promise<string | null> {
  const log = await logStore.read(sha256);
  if (!log) return `log ${sha256}: recorded, and not there`;
  if (log.bytes !== bytes) return `log ${sha256}: it should have ${bytes} bytes; it has ${log.bytes}`;
  try {
    for await (const _ of log.pieces);
    return null;
  } catch (error) {
    return (error as Error).message;
  }
}

function revisionTrouble({ job, revision, document, sha256 }: RevisionRow): string | null {
  if (document === null) return null;
  const where = `job ${job}, revision ${revision}`;
  if (createHash("sha256").update(document).digest("hex") !== sha256)
    return `${where}: its document does not match its hash`;
  try {
    filesOf(parseJob(document).job);
    return null;
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    return `${where}: ${error.message}`;
  }
}

function missingLogs({ shop, job, document }: RevisionRow, ofShop: ReadonlySet<string>): string[] {
  return filesOf(parseJob(document!).job)
    .filter(({ sha256 }) => !ofShop.has(`${shop} ${sha256}`))
    .map(({ name }) => `job ${job}: its log ${name} was never sent`);
}
