/** GET /api/changes: which jobs changed since a cursor, oldest first, each as it stands now. */
import { Hono } from "hono";
import * as v from "valibot";
import type { Paths } from "../openapi/operation.ts";
import { Refusal } from "../problem-response.ts";
import { type Env, query } from "../request.ts";
import type { Services } from "../services.ts";

const changesAtMost = 1_000;

export const ChangesQuerySchema = v.object({
  since: v.optional(v.pipe(v.string(), v.maxLength(60, "the cursor of an earlier answer"))),
});

export const ChangesSchema = v.object({
  changes: v.array(v.object({ id: v.string(), revision: v.number(), deleted: v.boolean() })),
  cursor: v.string(),
});

export const changePaths: Paths = {
  "/api/changes": {
    get: {
      summary: "Jobs that changed since a cursor, oldest first, each as it stands now; all of them without a cursor",
      query: ChangesQuerySchema,
      answers: {
        200: { words: "The changes, and the cursor to go on from", media: "application/json", schema: ChangesSchema },
      },
      problems: [400],
    },
  },
};

export function changes({ jobs }: Services) {
  return new Hono<Env>().get("/", async (c) => {
    const { since } = query(c, ChangesQuerySchema);
    // the cursor of another store, or of this one before it was restored, means nothing here: start again
    const store = (await jobs.identity()).slice(0, 8);
    const revision = revisionOf(since, store);
    const found = await jobs.changes(c.get("author").shop, revision, changesAtMost);
    const cursor = `${store}.${found.at(-1)?.revision ?? revision}`;
    c.header("cache-control", "no-store");
    return c.json({ changes: found, cursor } satisfies v.InferOutput<typeof ChangesSchema>);
  });
}

function revisionOf(since: string | undefined, store: string): number {
  if (since === undefined || since === "") return 0;
  const parts = /^([0-9a-f]{8})\.(\d{1,15})$/.exec(since);
  if (!parts) throw new Refusal(400, "since: should be the cursor of an earlier answer.", { field: "since" });
  return parts[1] === store ? Number(parts[2]) : 0;
}
