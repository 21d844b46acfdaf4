/** The browser's store as the engine of following sees it; only what was saved since the last turn is looked at. */
import { database, type JobRecord } from "../database.ts";
import { findLog } from "../logs.ts";
import { announce } from "../tabs.ts";
import type { LocalStore } from "./sync.ts";
import type { SyncEntry } from "./sync-entry.ts";
import { type JobContent, wireText } from "./wire.ts";

const cursorKey = "cursor";

const contentOfRecord = (record: JobRecord | undefined): JobContent | null | undefined =>
  record && (record.deletedMilliseconds === null ? { document: record.document, files: record.files } : null);

const textOf = (content: JobContent | null | undefined) => (content ? wireText(content) : content);

/** @param saved ids that may differ from what the server was told; the engine reads them, nobody else */
export function browserStore(saved: ReadonlySet<string>): LocalStore {
  return {
    ids: async () => [...saved],

    async read(id) {
      return contentOfRecord(await (await database()).get("jobs", id));
    },

    async take(id, content, seen) {
      const change = (await database()).transaction("jobs", "readwrite");
      const kept = await change.store.get(id);
      if (textOf(contentOfRecord(kept)) !== seen) {
        await change.done;
        return false;
      }
      const next = laidOver(id, kept, content);
      if (next) await change.store.put(next);
      await change.done;
      if (next) announce(next);
      return true;
    },

    async entry(id) {
      return (await database()).get("sync", id);
    },
    async remember(entry) {
      await (await database()).put("sync", entry);
    },
    async entries() {
      return (await database()).getAll("sync");
    },
    async cursor() {
      return (await (await database()).get("facts", cursorKey)) ?? null;
    },
    async rememberCursor(cursor) {
      await (await database()).put("facts", cursor, cursorKey);
    },
    async log(sha256) {
      return (await (await findLog(sha256))?.arrayBuffer()) ?? null;
    },
    async keepLog(sha256, bytes) {
      await (await database()).put("logs", new Blob([bytes]), sha256);
    },
  };
}

function laidOver(id: string, kept: JobRecord | undefined, content: JobContent | null): JobRecord | null {
  const revision = (kept?.revision ?? 0) + 1;
  const updatedMilliseconds = Date.now();
  if (content) return { id, drafts: {}, ...kept, ...content, revision, updatedMilliseconds, deletedMilliseconds: null };
  return kept ? { ...kept, revision, deletedMilliseconds: updatedMilliseconds } : null;
}

export async function allIds(): Promise<string[]> {
  return (await database()).getAllKeys("jobs");
}

export async function entryOf(id: string): Promise<SyncEntry | undefined> {
  return (await database()).get("sync", id);
}
