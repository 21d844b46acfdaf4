/** GET /api/jobs/{id}/diagnosis: what is kept, diagnosed in a worker; unchanged input is not diagnosed twice. */
import type { Context } from "hono";
import { Problem, parseJob } from "../../analysis/index.ts";
import { filesOf, jobJson, type KeptFile } from "../kept-document.ts";
import { allBytes } from "../log-store/log-store.ts";
import { type Env, isKnown } from "../request.ts";
import type { Services } from "../services.ts";
import type { KeptDocument } from "../store/job-store.ts";
import { cacheKey } from "../worker-pool/diagnosis-cache.ts";

/** Logs of one job that are read into memory together. */
const logBytesTogether = 2 ** 30;

export async function keptDiagnosis(
  services: Services,
  c: Context<Env>,
  id: string,
  { text }: KeptDocument,
): Promise<Response> {
  const { job } = parseJob(text);
  const named = new Set(job.recordings.map(({ file }) => file));
  const logs = filesOf(job).filter(({ name }) => named.has(name));
  await checkKept(services, c.get("author").shop, logs);
  const document = jobJson(text);
  const key = await cacheKey([id, document, ...logs.flatMap(({ name, sha256 }) => [name, sha256])]);
  c.header("etag", `"${key}"`);
  c.header("cache-control", "private, no-cache");
  if (isKnown(c, `"${key}"`)) return c.body(null, 304);
  const diagnosis = (await services.cache.find(key)) ?? (await made(services, c, id, document, logs, key));
  return c.body(diagnosis, 200, { "content-type": "application/json" });
}

async function checkKept({ logRecords }: Services, shop: string, logs: readonly KeptFile[]): Promise<void> {
  let total = 0;
  for (const { name, sha256, field } of logs) {
    const bytes = await logRecords.bytes(shop, sha256);
    if (bytes === null) {
      throw new Problem(`the log should be sent to /api/logs/${sha256} first; it is not kept here`, {
        file: name,
        field,
      });
    }
    total += bytes;
  }
  if (total > logBytesTogether) {
    throw new Problem(
      `the logs should be at most ${logBytesTogether} bytes together; they are ${total} (use the command line)`,
    );
  }
}

async function made(
  { pool, logStore, cache }: Services,
  c: Context<Env>,
  id: string,
  document: string,
  logs: readonly KeptFile[],
  key: string,
): Promise<string> {
  pool.checkRoom();
  const files: [string, Uint8Array][] = [["job.json", new TextEncoder().encode(document)]];
  for (const { name, sha256 } of logs) {
    const log = await logStore.read(sha256);
    if (!log) throw new Error(`the log ${sha256} is recorded and not in the store`);
    files.push([name, await allBytes(log)]);
  }
  const diagnosis = await pool.diagnose({ folder: id, files }, c.req.raw.signal);
  await cache.keep(key, diagnosis);
  return diagnosis;
}
