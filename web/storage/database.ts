/**
 * The browser's own store: jobs as they are being edited, and meter logs under the hash of their bytes.
 */
import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { Job } from "../../analysis/index.ts";
import type { SyncEntry } from "./sync/sync-entry.ts";

export interface JobRecord {
  readonly id: string;
  /** counts up at every save; a save that does not know the latest one is merged, never laid over it */
  readonly revision: number;
  readonly updatedMilliseconds: number;
  readonly document: Job;
  /** what stands in fields whose text is not (yet) a value: kept as typed, field path → text */
  readonly drafts: Readonly<Record<string, string>>;
  /** every log that was given to the job, placed or not: file name → hash and size */
  readonly files: Readonly<Record<string, StoredFile>>;
  readonly deletedMilliseconds: number | null;
}

export interface StoredFile {
  readonly sha256: string;
  readonly bytes: number;
}

interface Schema extends DBSchema {
  jobs: { key: string; value: JobRecord };
  logs: { key: string; value: Blob };
  /** what is known of each job on the server */
  sync: { key: string; value: SyncEntry };
  facts: { key: string; value: string };
}

let opened: Promise<IDBPDatabase<Schema>> | undefined;

export function database(): Promise<IDBPDatabase<Schema>> {
  opened ??= openDB<Schema>("loopwalk", 2, {
    upgrade(db, before) {
      if (before < 1) {
        db.createObjectStore("jobs", { keyPath: "id" });
        db.createObjectStore("logs");
      }
      if (before < 2) {
        db.createObjectStore("sync", { keyPath: "id" });
        db.createObjectStore("facts");
      }
    },
    terminated() {
      opened = undefined;
    },
  });
  return opened;
}
