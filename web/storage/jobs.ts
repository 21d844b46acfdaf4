/**
 * Jobs in the browser's store. A save names the revision it started from; where somebody else was first
 * (another tab), both sets of changes are merged, and where they meet, the other version is kept as a job of its own.
 */
import type { Job } from "../../analysis/index.ts";
import { database, type JobRecord } from "./database.ts";
import { merge, same } from "./merge.ts";
import { tellTabs } from "./tabs.ts";

export type Editable = Pick<JobRecord, "document" | "drafts" | "files">;

/** A deleted job can be brought back for this long. */
const keptAfterDeletingMilliseconds = 30 * 24 * 3600 * 1000;

export async function listJobs(): Promise<JobRecord[]> {
  const all = await (await database()).getAll("jobs");
  return all.sort((a, b) => b.updatedMilliseconds - a.updatedMilliseconds);
}

export async function findJob(id: string): Promise<JobRecord | undefined> {
  return (await database()).get("jobs", id);
}

export async function createJob(content: Editable): Promise<JobRecord> {
  const record = freshRecord(content);
  await (await database()).add("jobs", record);
  tellTabs(record);
  return record;
}

function freshRecord(content: Editable): JobRecord {
  return {
    ...structuredClone(content),
    id: crypto.randomUUID(),
    revision: 1,
    updatedMilliseconds: Date.now(),
    deletedMilliseconds: null,
  };
}

/**
 * Saves what was made of `base`.
 * @returns what is kept now, merged where another tab had saved in between
 */
export async function saveJob(base: JobRecord, mine: Editable): Promise<JobRecord> {
  const change = (await database()).transaction("jobs", "readwrite");
  const kept = (await change.store.get(base.id)) ?? base;
  const { content, lost } =
    kept.revision === base.revision ? { content: mine, lost: null } : reconcile(base, mine, kept);
  if (lost) await change.store.add(freshRecord(lost));
  const next = { ...kept, ...content, revision: kept.revision + 1, updatedMilliseconds: Date.now() };
  await change.store.put(next);
  await change.done;
  tellTabs(next);
  return next;
}

function reconcile(base: JobRecord, mine: Editable, theirs: JobRecord): { content: Editable; lost: Editable | null } {
  const { content, disputed } = mergeEdits(base, mine, theirs);
  if (!disputed || same(theirs.document, base.document)) return { content, lost: null };
  const title = `${theirs.document.title} (as changed in another window)`;
  return { content, lost: { ...theirs, document: { ...theirs.document, title } } };
}

/** Both sets of changes made to `base`; where they meet (`disputed`), mine. */
export function mergeEdits(base: Editable, mine: Editable, theirs: Editable): { content: Editable; disputed: boolean } {
  const document = merge<Job>(base.document, mine.document, theirs.document);
  const content: Editable = {
    document: document.value,
    drafts: merge({ ...base.drafts }, { ...mine.drafts }, { ...theirs.drafts }).value,
    files: { ...theirs.files, ...mine.files },
  };
  return { content, disputed: document.disputed.length > 0 };
}

export async function markDeleted(id: string, deleted: boolean): Promise<void> {
  const change = (await database()).transaction("jobs", "readwrite");
  const kept = await change.store.get(id);
  if (kept) {
    const next = { ...kept, revision: kept.revision + 1, deletedMilliseconds: deleted ? Date.now() : null };
    await change.store.put(next);
    tellTabs(next);
  }
  await change.done;
}

/** Jobs deleted long ago leave for good. */
export async function purgeDeleted(nowMilliseconds: number): Promise<void> {
  const change = (await database()).transaction("jobs", "readwrite");
  for (const job of await change.store.getAll()) {
    const since = job.deletedMilliseconds;
    if (since !== null && nowMilliseconds - since > keptAfterDeletingMilliseconds) await change.store.delete(job.id);
  }
  await change.done;
}
