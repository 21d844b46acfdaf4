/** What the routes stand on: opened once by the server or a command, closed when it ends. */
import { mkdir } from "node:fs/promises";
import { join } from "node:path";
import { type AccountStore, accountStore } from "./accounts/account-store.ts";
import { dataFolder, type Settings } from "./data-folder.ts";
import { fileLogStore } from "./log-store/file-log-store.ts";
import type { LogStore } from "./log-store/log-store.ts";
import { s3LogStore } from "./log-store/s3-log-store.ts";
import type { Database } from "./store/database.ts";
import { type JobStore, jobStore } from "./store/job-store.ts";
import { type LogRecords, logRecords } from "./store/log-records.ts";
import { openPostgres } from "./store/postgres.ts";
import { openSqlite } from "./store/sqlite.ts";
import { type DiagnosisCache, storedCache } from "./worker-pool/diagnosis-cache.ts";
import { type WorkerPool, workerPool } from "./worker-pool/worker-pool.ts";

export interface Services {
  readonly database: Database;
  readonly jobs: JobStore;
  readonly accounts: AccountStore;
  readonly logRecords: LogRecords;
  readonly logStore: LogStore;
  readonly pool: WorkerPool;
  readonly cache: DiagnosisCache;
  close(): Promise<void>;
}

/** @param settings DATA_DIR, DATABASE_URL, S3_ENDPOINT, S3_BUCKET, S3_REGION */
export async function openServices(settings: Settings): Promise<Services> {
  const folder = dataFolder(settings);
  await mkdir(folder, { recursive: true });
  const database = await openDatabase(settings);
  return servicesOver(database, await openLogStore(settings));
}

export function openDatabase(settings: Settings): Promise<Database> {
  const { DATABASE_URL: address } = settings;
  return address ? openPostgres(address) : openSqlite(join(dataFolder(settings), "store.sqlite"));
}

export function openLogStore(settings: Settings): Promise<LogStore> {
  const { S3_ENDPOINT: endpoint, S3_BUCKET: bucket, S3_REGION: region = "us-east-1" } = settings;
  const folder = dataFolder(settings);
  if (endpoint && bucket) return s3LogStore({ endpoint, bucket, region }, join(folder, "incoming"));
  return fileLogStore(join(folder, "logs"));
}

export function servicesOver(database: Database, logStore: LogStore, pool: WorkerPool = workerPool()): Services {
  return {
    database,
    jobs: jobStore(database),
    accounts: accountStore(database),
    logRecords: logRecords(database),
    logStore,
    pool,
    cache: storedCache(database),
    async close() {
      await pool.close();
      await database.close();
    },
  };
}
