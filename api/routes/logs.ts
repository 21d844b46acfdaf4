/** /api/logs/{sha256}: meter logs under the hash of their bytes; a shop sees those that it sent. */
import { type Context, Hono } from "hono";
import * as v from "valibot";
import { Sha256Schema } from "../kept-document.ts";
import { allBytes, type KeptLog, logBytesAtMost } from "../log-store/log-store.ts";
import type { Paths } from "../openapi/operation.ts";
import { Refusal } from "../problem-response.ts";
import { bodyPieces, type Env, isKnown, taken } from "../request.ts";
import type { Services } from "../services.ts";

/** Up to this size a log is checked whole before the answer begins, so that a damaged one is an error and no broken answer. */
const checkedBeforehandBytes = 8 * 2 ** 20;

const LogSchema = v.object({ sha256: v.string(), bytes: v.number() });

export const logPaths: Paths = {
  "/api/logs/{sha256}": {
    get: {
      summary: "A meter log",
      answers: { 200: { words: "Its bytes", media: "application/octet-stream", headers: ["ETag"] } },
      problems: [404],
    },
    put: {
      summary: "Keeps a meter log under the SHA-256 of its bytes; sending it twice is harmless",
      body: { "application/octet-stream": null },
      answers: {
        200: { words: "It was kept before", media: "application/json", schema: LogSchema },
        201: { words: "Kept, and safe on disk", media: "application/json", schema: LogSchema },
      },
      problems: [400, 413, 422, 507],
    },
  },
};

export function logs({ logStore, logRecords }: Services) {
  return new Hono<Env>()
    .put("/:sha256", async (c) => {
      const sha256 = hashOf(c);
      const { shop } = c.get("author");
      const bytes = await logStore.keep(sha256, bodyPieces(c, logBytesAtMost));
      const created = (await logRecords.bytes(shop, sha256)) === null;
      if (created) await logRecords.record(shop, sha256, bytes);
      return c.json({ sha256, bytes }, created ? 201 : 200, { etag: `"${sha256}"` });
    })
    .get("/:sha256", async (c) => {
      const sha256 = hashOf(c);
      const bytes = await logRecords.bytes(c.get("author").shop, sha256);
      if (bytes === null) throw new Refusal(404, `There is no log ${sha256}.`, { field: "sha256" });
      const headers = {
        etag: `"${sha256}"`,
        "cache-control": "private, max-age=31536000, immutable",
        "content-type": "application/octet-stream",
        "content-disposition": "attachment",
      };
      if (isKnown(c, headers.etag)) return new Response(null, { status: 304, headers });
      const sized = { ...headers, "content-length": String(bytes) };
      if (c.req.method === "HEAD") return new Response(null, { headers: sized });
      const log = await logStore.read(sha256);
      if (!log) throw new Error(`the log ${sha256} is recorded and not in the store`);
      return new Response(await bodyOf(log), { headers: sized });
    });
}

async function bodyOf(log: KeptLog): Promise<Uint8Array | ReadableStream> {
  return log.bytes <= checkedBeforehandBytes ? allBytes(log) : ReadableStream.from(log.pieces);
}

const hashOf = (c: Context): string => taken(Sha256Schema, c.req.param("sha256"), "sha256");
