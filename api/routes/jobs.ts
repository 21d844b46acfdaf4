/** /api/jobs: job documents kept under an id that the client made, replaced whole by whoever knows the newest revision. */
import { type Context, Hono } from "hono";
import * as v from "valibot";
import { DiagnosisSchema, Problem } from "../../analysis/index.ts";
import { KeptDocumentSchema, newDocument } from "../kept-document.ts";
import type { Paths } from "../openapi/operation.ts";
import { Refusal } from "../problem-response.ts";
import { type Env, ifMatch, isKnown, JobIdSchema, jsonText, query, tagOf, taken } from "../request.ts";
import type { Services } from "../services.ts";
import type { KeepResult, RevisionEntry } from "../store/job-store.ts";
import { keptDiagnosis } from "./kept-diagnosis.ts";
import { keptFolder } from "./kept-folder.ts";

export const jobBytesAtMost = 8_000_000;

export const ListQuerySchema = v.object({
  q: v.optional(v.pipe(v.string(), v.maxLength(200, "at most 200 characters long")), ""),
  after: v.optional(v.pipe(v.string(), v.maxLength(100, "the `after` of the page before, or the id of its last job"))),
  limit: v.optional(wholeNumber(1, 200), "50"),
});

export const JobListSchema = v.object({
  jobs: v.array(v.object({ id: v.string(), title: v.string(), updated: v.string(), revision: v.number() })),
  /** for the next page; null: this is the last one */
  after: v.nullable(v.string()),
});

export const RevisionListSchema = v.object({
  revisions: v.array(
    v.object({
      revision: v.number(),
      base: v.nullable(v.number()),
      sibling: v.boolean(),
      deleted: v.boolean(),
      written: v.string(),
    }),
  ),
});

const KeptSchema = v.object({ id: v.string(), revision: v.number() });
const etag = ["ETag"];
const document = { media: "application/json", schema: KeptDocumentSchema };

export const jobPaths: Paths = {
  "/api/jobs": {
    get: {
      summary: "A page of jobs, the last changed first",
      query: ListQuerySchema,
      answers: { 200: { words: "The page", media: "application/json", schema: JobListSchema } },
      problems: [400],
    },
  },
  "/api/jobs/{id}": {
    get: {
      summary: "A job document as it was sent",
      headers: { "If-None-Match": "the ETag at hand" },
      answers: { 200: { words: "The document", ...document, headers: etag }, 304: { words: "It is the one at hand" } },
      problems: [404],
    },
    put: {
      summary: "Creates a job, or replaces it whole",
      headers: { "If-None-Match": "* to create", "If-Match": "the ETag of the revision that is replaced" },
      body: { "application/json": KeptDocumentSchema },
      answers: {
        200: { words: "Replaced, and safe on disk", media: "application/json", schema: KeptSchema, headers: etag },
        201: { words: "Created, and safe on disk", media: "application/json", schema: KeptSchema, headers: etag },
      },
      problems: [400, 412, 413, 415, 422, 428, 507],
    },
    delete: {
      summary: "Deletes a job",
      headers: { "If-Match": "the ETag of the revision that is deleted" },
      answers: { 204: { words: "Deleted", headers: etag } },
      problems: [404, 412, 428, 507],
    },
  },
  "/api/jobs/{id}/revisions": {
    get: {
      summary: "Every revision of a job and every sibling that lost the race to be one, newest first",
      answers: { 200: { words: "The revisions", media: "application/json", schema: RevisionListSchema } },
      problems: [404],
    },
  },
  "/api/jobs/{id}/revisions/{revision}": {
    get: {
      summary: "The document of one revision or sibling",
      answers: { 200: { words: "The document", ...document, headers: etag } },
      problems: [400, 404],
    },
  },
  "/api/jobs/{id}/diagnosis": {
    get: {
      summary: "The diagnosis of what is kept",
      headers: { "If-None-Match": "the ETag at hand" },
      answers: {
        200: { words: "The diagnosis", media: "application/json", schema: DiagnosisSchema, headers: etag },
        304: { words: "It is the one at hand" },
      },
      problems: [404, 422, 503],
    },
  },
  "/api/jobs/{id}/folder": {
    get: {
      summary: "The job folder as a zip",
      answers: { 200: { words: "The folder", media: "application/zip" } },
      problems: [404],
    },
  },
};

export function jobs(services: Services) {
  const { jobs: store } = services;
  return new Hono<Env>()
    .get("/", async (c) => {
      const { q, after, limit } = query(c, ListQuerySchema);
      const { shop } = c.get("author");
      const before = after === undefined ? null : await place(services, shop, after);
      const found = await store.list(shop, limit + 1, q, before);
      const page = found.slice(0, limit);
      return c.json({
        jobs: page.map(({ id, title, updatedMilliseconds, revision }) => ({
          ...{ id, title, revision },
          updated: new Date(updatedMilliseconds).toISOString(),
        })),
        after: found.length > limit ? String(page.at(-1)!.revision) : null,
      } satisfies v.InferOutput<typeof JobListSchema>);
    })
    .put("/:id", async (c) => {
      const id = idOf(c);
      const expected = expectedOfPut(c);
      const document = documentOf(await jsonText(c, jobBytesAtMost));
      const result = await store.keep(c.get("author"), id, document, expected);
      if (!result.kept) throw lost(result);
      const { revision, created } = result;
      return c.json({ id, revision }, created ? 201 : 200, {
        etag: tagOf(revision),
        ...(created ? { location: `/api/jobs/${id}` } : {}),
      });
    })
    .get("/:id", async (c) => {
      const { revision, text } = await found(services, c);
      c.header("etag", tagOf(revision));
      c.header("cache-control", "private, no-cache");
      if (isKnown(c, tagOf(revision))) return c.body(null, 304);
      return c.body(text, 200, { "content-type": "application/json" });
    })
    .delete("/:id", async (c) => {
      const expected = ifMatch(c);
      if (expected === null) throw unguarded('If-Match: "revision"');
      const result = await store.remove(c.get("author"), idOf(c), expected);
      if (result === null) throw noSuchJob(idOf(c));
      if (!result.kept) throw lost(result);
      return c.body(null, 204, { etag: tagOf(result.revision) });
    })
    .get("/:id/revisions", async (c) => {
      const revisions = await store.revisions(c.get("author").shop, idOf(c));
      if (revisions.length === 0) throw noSuchJob(idOf(c));
      return c.json({ revisions: revisions.map(shownRevision) });
    })
    .get("/:id/revisions/:revision", async (c) => {
      const revision = taken(wholeNumber(1, Number.MAX_SAFE_INTEGER), c.req.param("revision"), "revision");
      const kept = await store.findRevision(c.get("author").shop, idOf(c), revision);
      if (!kept)
        throw new Refusal(404, `The job ${idOf(c)} has no document as revision ${revision}.`, { field: "revision" });
      return c.body(kept.text, 200, { "content-type": "application/json", etag: tagOf(revision) });
    })
    .get("/:id/diagnosis", async (c) => keptDiagnosis(services, c, idOf(c), await found(services, c)))
    .get("/:id/folder", async (c) => keptFolder(services, c, await found(services, c)));
}

function wholeNumber(least: number, most: number) {
  const words = `a whole number from ${least} to ${most}`;
  return v.pipe(
    v.string(),
    v.regex(/^\d{1,16}$/, words),
    v.transform(Number),
    v.minValue(least, words),
    v.maxValue(most, words),
  );
}

const idOf = (c: Context): string => taken(JobIdSchema, c.req.param("id"), "id");

async function found({ jobs: store }: Services, c: Context<Env>) {
  const kept = await store.find(c.get("author").shop, idOf(c));
  if (!kept) throw noSuchJob(idOf(c));
  return kept;
}

const noSuchJob = (id: string) => new Refusal(404, `There is no job ${id}.`, { field: "id" });

/** Where the next page begins: `after` as a page gave it, or the id of its last job. */
async function place({ jobs: store }: Services, shop: string, after: string): Promise<number> {
  if (/^\d{1,15}$/.test(after)) return Number(after);
  const id = v.safeParse(JobIdSchema, after);
  const last = id.success ? await store.currentRevision(shop, id.output) : null;
  if (last) return last.revision;
  throw new Refusal(400, "after: should be the `after` of the page before, or the id of its last job.", {
    field: "after",
  });
}

function expectedOfPut(c: Context) {
  const none = c.req.header("if-none-match");
  const match = ifMatch(c);
  if (none === undefined) {
    if (match === null) throw unguarded('If-None-Match: * (to create) or If-Match: "revision" (to replace)');
    return match;
  }
  if (none.trim() === "*" && match === null) return "absent" as const;
  throw new Refusal(400, "if-none-match: should be * and without If-Match, to create a job.", {
    field: "if-none-match",
  });
}

const unguarded = (headers: string) =>
  new Refusal(428, `The request should have ${headers}, so that nobody's change is lost.`, { field: "if-match" });

/** Text that is no JSON is a request that cannot be read; JSON that is no job is content that cannot be taken. */
function documentOf(text: string) {
  try {
    return newDocument(text);
  } catch (error) {
    if (!(error instanceof Problem) || error.place.line === undefined) throw error;
    throw new Refusal(400, error.message, { ...error.place });
  }
}

function lost({ current, sibling }: Extract<KeepResult, { kept: false }>): Refusal {
  const stands = !current ? "is no such job" : current.deleted ? "the job was deleted" : "is a newer revision";
  const kept = sibling ? `; what was sent is kept as revision ${sibling.revision}` : "";
  const words = current?.deleted ? stands : `there ${stands}`;
  const headers: Record<string, string> = current ? { etag: tagOf(current.revision) } : {};
  return new Refusal(412, `Nothing was replaced: ${words}${kept}.`, { field: "if-match", current, sibling }, headers);
}

const shownRevision = ({ revision, base, sibling, deleted, writtenMilliseconds }: RevisionEntry) => ({
  ...{ revision, base, sibling, deleted },
  written: new Date(writtenMilliseconds).toISOString(),
});
