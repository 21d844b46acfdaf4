/**
 * POST /api/diagnoses: a zipped job folder, or job.json and its logs as a form → a diagnosis. Nothing is kept.
 */
import { Hono } from "hono";
import * as v from "valibot";
import { DiagnosisSchema, Problem } from "../../analysis/index.ts";
import type { Paths } from "../openapi/operation.ts";
import { Refusal } from "../problem-response.ts";
import { bodyBytes, type Env, mediaType } from "../request.ts";
import { cacheKey, type DiagnosisCache } from "../worker-pool/diagnosis-cache.ts";
import type { DiagnosisWork } from "../worker-pool/work.ts";
import type { WorkerPool } from "../worker-pool/worker-pool.ts";

export const folderBytesAtMost = 256 * 2 ** 20;

export const diagnosisPaths: Paths = {
  "/api/diagnoses": {
    post: {
      summary: "Diagnoses a job folder; nothing is kept",
      body: { "application/zip": null, "multipart/form-data": v.looseObject({}) },
      answers: { 200: { words: "The diagnosis", media: "application/json", schema: DiagnosisSchema } },
      problems: [413, 415, 422, 503],
    },
  },
};

/** @param cache in memory: an answer that was lost on the way is not made twice */
export function diagnoses(pool: WorkerPool, cache: DiagnosisCache) {
  return new Hono<Env>().post("/", async (c) => {
    const kind = mediaType(c);
    if (kind !== "application/zip" && kind !== "multipart/form-data") {
      const words = `Content-Type should be application/zip or multipart/form-data; got ${kind || "none"}.`;
      throw new Refusal(415, words, { field: "content-type" });
    }
    pool.checkRoom();
    const body = await bodyBytes(c, folderBytesAtMost);
    const key = await cacheKey([c.req.header("content-type")!, body]);
    const known = await cache.find(key);
    const work = () => (kind === "application/zip" ? zipWork(body) : formWork(body, c.req.header("content-type")!));
    const diagnosis = known ?? (await pool.diagnose(await work(), c.req.raw.signal));
    if (known === null) await cache.keep(key, diagnosis);
    return c.body(diagnosis, 200, { "content-type": "application/json", "cache-control": "no-store" });
  });
}

const zipWork = (zip: Uint8Array): DiagnosisWork => ({ folder: "job.zip", zip });

/** Each part with a file name is a file of the folder, whatever its field is called; a field `job.json` may be plain text. */
async function formWork(body: Uint8Array, contentType: string): Promise<DiagnosisWork> {
  const form = await new Response(body, { headers: { "content-type": contentType } }).formData().catch(() => {
    throw new Problem("should be a whole form with its boundary; it is cut short or damaged", { file: "job" });
  });
  const files: [string, Uint8Array][] = [];
  for (const [field, value] of form) {
    if (typeof value === "string") files.push([field, new TextEncoder().encode(value)]);
    else files.push([value.name || field, new Uint8Array(await value.arrayBuffer())]);
  }
  return { folder: "job", files };
}
