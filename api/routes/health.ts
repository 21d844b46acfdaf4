/** GET /api/health: 200 once the server can serve and its store answers, 503 with the reason otherwise. */
import { Hono } from "hono";
import { sql } from "kysely";
import * as v from "valibot";
import type { Paths } from "../openapi/operation.ts";
import { problemResponse } from "../problem-response.ts";
import type { Services } from "../services.ts";

export const healthPaths: Paths = {
  "/api/health": {
    get: {
      summary: "Whether the server can serve and its store answers",
      answers: {
        200: { words: "It can", media: "application/json", schema: v.object({ status: v.literal("ready") }) },
      },
      problems: [503],
    },
  },
};

const patienceMilliseconds = 3_000;

export const health = (services: Services | null) =>
  new Hono().get("/", async (c) => {
    c.header("cache-control", "no-store");
    try {
      if (services) await Promise.race([answers(services), tooLate()]);
      return c.json({ status: "ready" });
    } catch (error) {
      const reason = (error as Error).message || String((error as { code?: unknown }).code ?? error);
      return problemResponse(503, `The store does not answer: ${reason}.`, {}, { "retry-after": "5" });
    }
  });

async function answers({ database, logStore }: Services): Promise<void> {
  await Promise.all([sql`select 1`.execute(database.db), logStore.answers()]);
}

function tooLate(): Promise<never> {
  return new Promise((_, reject) => {
    const words = `it took longer than ${patienceMilliseconds / 1000} s`;
    setTimeout(() => reject(new Error(words)), patienceMilliseconds).unref();
  });
}
