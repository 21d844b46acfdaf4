/**
 * What every path refuses: bad bodies, sizes, hashes, ids, encodings, methods and cross-site requests. Each answer is a
 * problem document (RFC 9457) that names what is wrong; made-up JSON never makes the server fail.
 */
import { randomUUID } from "node:crypto";
import fc from "fast-check";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import {
  type Asking,
  creating,
  json,
  type KeptApp,
  keptApp,
  replacing,
  sha256Of,
  smallJob,
} from "../../fixtures/kept-app.ts";

const id = "6f9619ff-8b86-4d01-b42d-00cf4fc964ff";
const job = (more: Record<string, unknown>) => smallJob("x", more);
const reading = { round: "before", from: "load+", to: "load-", volts: 12 };
const recording = { file: "a.csv", round: "before", quantity: "volts", from: "load+", to: "load-" };
const hash = "0".repeat(64);
const zip = { "content-type": "application/zip" };

type Row = [what: string, method: string, path: string, asking: Asking, status: number, field?: string];
const table: Row[] = [
  ["an id that is no UUID", "PUT", "/api/jobs/12", { body: job({}), headers: creating }, 400, "id"],
  ["an id that climbs", "GET", "/api/jobs/..%2f..%2fetc%2fpasswd", {}, 400, "id"],
  ["an id with more behind", "GET", `/api/jobs/${id}0`, {}, 400, "id"],
  ["no precondition", "PUT", `/api/jobs/${id}`, { body: job({}), headers: json }, 428, "if-match"],
  [
    "If-None-Match of a revision",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({}), headers: { ...json, "if-none-match": '"3"' } },
    400,
    "if-none-match",
  ],
  [
    "both preconditions",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({}), headers: { ...creating, "if-match": '"3"' } },
    400,
    "if-none-match",
  ],
  [
    "an If-Match without quotes",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({}), headers: { ...json, "if-match": "3" } },
    400,
    "if-match",
  ],
  ["a revision that is not there", "PUT", `/api/jobs/${id}`, { body: job({}), headers: replacing(3) }, 412, "if-match"],
  [
    "a job as text",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({}), headers: { "if-none-match": "*", "content-type": "text/plain" } },
    415,
    "content-type",
  ],
  [
    "a job as a form",
    "PUT",
    `/api/jobs/${id}`,
    { body: "title=x", headers: { "if-none-match": "*", "content-type": "application/x-www-form-urlencoded" } },
    415,
    "content-type",
  ],
  [
    "a packed job",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({}), headers: { ...creating, "content-encoding": "gzip" } },
    415,
    "content-encoding",
  ],
  [
    "bytes that are not UTF-8",
    "PUT",
    `/api/jobs/${id}`,
    { body: new Uint8Array([0x7b, 0xff, 0x7d]), headers: creating },
    400,
    "body",
  ],
  ["a job that is too long", "PUT", `/api/jobs/${id}`, { body: " ".repeat(8_000_001), headers: creating }, 413, "body"],
  [
    "a length that is said to be too long",
    "PUT",
    `/api/logs/${hash}`,
    { body: "x", headers: { "content-length": "9999999999" } },
    413,
    "body",
  ],
  ["no body", "PUT", `/api/jobs/${id}`, { headers: creating }, 400],
  ["half a job", "PUT", `/api/jobs/${id}`, { body: job({}).slice(0, -9), headers: creating }, 400],
  ["a list", "PUT", `/api/jobs/${id}`, { body: "[]", headers: creating }, 422],
  ["another format", "PUT", `/api/jobs/${id}`, { body: job({ format: "job/2" }), headers: creating }, 422, "format"],
  ["no loop", "PUT", `/api/jobs/${id}`, { body: '{"format":"job/1"}', headers: creating }, 422, "loop"],
  [
    "text for volts",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({ readings: [{ ...reading, volts: "12" }] }), headers: creating },
    422,
    "readings[0].volts",
  ],
  [
    "a point that is not there",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({ readings: [{ ...reading, from: "roof" }] }), headers: creating },
    422,
    "readings[0].from",
  ],
  [
    "a log without its hash",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({ recordings: [recording] }), headers: creating },
    422,
    "recordings[0].sha256",
  ],
  [
    "a hash in capitals",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({ recordings: [{ ...recording, sha256: "A".repeat(64) }] }), headers: creating },
    422,
    "recordings[0].sha256",
  ],
  [
    "one file with two hashes",
    "PUT",
    `/api/jobs/${id}`,
    {
      body: job({
        recordings: [
          { ...recording, sha256: hash },
          { ...recording, sha256: "1".repeat(64) },
        ],
      }),
      headers: creating,
    },
    422,
    "recordings[1].sha256",
  ],
  [
    "a log that climbs out",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({ recordings: [{ ...recording, file: "../a.csv", sha256: hash }] }), headers: creating },
    422,
    "recordings[0]",
  ],
  ["files as a list", "PUT", `/api/jobs/${id}`, { body: job({ files: [] }), headers: creating }, 422, "files"],
  [
    "a nest a hundred deep",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({ x: JSON.parse("[".repeat(100) + "]".repeat(100)) }), headers: creating },
    422,
  ],
  [
    "a prototype",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({}).replace('"title"', '"__proto__":{"a":1},"title"'), headers: creating },
    422,
    "__proto__",
  ],
  ["deleting without a revision", "DELETE", `/api/jobs/${id}`, {}, 428, "if-match"],
  ["deleting what is not there", "DELETE", `/api/jobs/${id}`, { headers: { "if-match": '"1"' } }, 404, "id"],
  ["reading what is not there", "GET", `/api/jobs/${id}`, {}, 404, "id"],
  ["its diagnosis", "GET", `/api/jobs/${id}/diagnosis`, {}, 404, "id"],
  ["its folder", "GET", `/api/jobs/${id}/folder`, {}, 404, "id"],
  ["its revisions", "GET", `/api/jobs/${id}/revisions`, {}, 404, "id"],
  ["a revision by a word", "GET", `/api/jobs/${id}/revisions/last`, {}, 400, "revision"],
  ["a page of nothing", "GET", "/api/jobs?limit=0", {}, 400, "limit"],
  ["a page too long", "GET", "/api/jobs?limit=201", {}, 400, "limit"],
  ["a page by a word", "GET", "/api/jobs?limit=ten", {}, 400, "limit"],
  ["a search too long", "GET", `/api/jobs?q=${"a".repeat(201)}`, {}, 400, "q"],
  ["a search twice", "GET", "/api/jobs?q=a&q=b", {}, 400, "q"],
  ["a query nobody knows", "GET", "/api/jobs?sort=title", {}, 400, "sort"],
  ["after nothing known", "GET", `/api/jobs?after=${id}`, {}, 400, "after"],
  ["a cursor nobody gave", "GET", "/api/changes?since=yesterday", {}, 400, "since"],
  ["a hash too short", "PUT", "/api/logs/abc", { body: "x" }, 400, "sha256"],
  ["a hash in capitals", "GET", `/api/logs/${"A".repeat(64)}`, {}, 400, "sha256"],
  ["bytes of another hash", "PUT", `/api/logs/${hash}`, { body: "x" }, 422, "sha256"],
  ["a log that is not there", "GET", `/api/logs/${hash}`, {}, 404, "sha256"],
  [
    "a diagnosis of text",
    "POST",
    "/api/diagnoses",
    { body: "x", headers: { "content-type": "text/csv" } },
    415,
    "content-type",
  ],
  ["a diagnosis of nothing", "POST", "/api/diagnoses", {}, 415, "content-type"],
  ["a zip that is none", "POST", "/api/diagnoses", { body: "PK, but no zip", headers: zip }, 422],
  [
    "a form cut short",
    "POST",
    "/api/diagnoses",
    { body: "--x\r\n", headers: { "content-type": "multipart/form-data; boundary=x" } },
    422,
  ],
  [
    "a form without a boundary",
    "POST",
    "/api/diagnoses",
    { body: "x", headers: { "content-type": "multipart/form-data" } },
    422,
  ],
  ["a path that is none", "GET", "/api/nothing", {}, 404],
  ["another method on a list", "POST", "/api/jobs", { body: "{}", headers: json }, 405],
  ["another method on a job", "PATCH", `/api/jobs/${id}`, { body: "{}", headers: json }, 405],
  ["deleting a log", "DELETE", `/api/logs/${hash}`, {}, 405],
  ["writing changes", "PUT", "/api/changes", {}, 405],
  ["reading diagnoses", "GET", "/api/diagnoses", {}, 405],
  ["another host", "GET", "/api/jobs", { headers: { host: "rebound.example" } }, 403, "host"],
  [
    "another origin",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({}), headers: { ...creating, origin: "https://evil.example" } },
    403,
    "origin",
  ],
  [
    "another port of this machine",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({}), headers: { ...creating, origin: "http://localhost:3000" } },
    403,
    "origin",
  ],
  [
    "a page in a sandbox",
    "PUT",
    `/api/jobs/${id}`,
    { body: job({}), headers: { ...creating, origin: "null" } },
    403,
    "origin",
  ],
  ["a cross-site read", "GET", "/api/jobs", { headers: { "sec-fetch-site": "cross-site" } }, 403, "sec-fetch-site"],
  ["a same-site read", "GET", "/api/changes", { headers: { "sec-fetch-site": "same-site" } }, 403, "sec-fetch-site"],
];

describe("every path refuses what it should", () => {
  let app: KeptApp;
  beforeAll(async () => {
    app = await keptApp();
  });
  afterAll(() => app.end());

  it.each(table)("%s: %s %s", async (_, method, path, asking, status, field) => {
    const response = await app.ask(method, path, asking);
    const text = await response.text();
    expect([response.status, text]).toEqual([status, expect.anything()]);
    expect(response.headers.get("content-type")).toBe("application/problem+json");
    const problem = JSON.parse(text) as Record<string, unknown>;
    expect(problem).toMatchObject({ type: "about:blank", status, title: expect.any(String) });
    expect(problem.detail).toMatch(/\S{3,}/);
    expect(text).not.toMatch(/\n\s+at |node_modules|\.ts:/);
    if (field !== undefined) expect(problem.field).toBe(field);
    if (status === 405) expect(response.headers.get("allow")).toMatch(/[A-Z]{3,}/);
  });

  it("made nothing of all that", async () => {
    expect(await (await app.ask("GET", "/api/jobs")).json()).toEqual({ jobs: [], after: null });
    expect(await (await app.ask("GET", "/api/changes")).json()).toMatchObject({ changes: [] });
  });

  it("never fails on made-up JSON, as a body or in a job's fields", async () => {
    const value = fc.jsonValue({ maxDepth: 4 });
    const field = fc.constantFrom(
      "title",
      "load",
      "limits",
      "loop",
      "meters",
      "recordings",
      "readings",
      "rounds",
      "files",
      "source",
      "x",
    );
    const body = fc.oneof(
      fc.json(),
      fc.string(),
      fc.tuple(field, value).map(([name, given]) => job({ [name]: given })),
      fc
        .tuple(fc.constant("recordings"), value)
        .map(([name, given]) => job({ [name]: [{ ...recording, sha256: given }] })),
    );
    await fc.assert(
      fc.asyncProperty(body, async (text) => {
        const response = await app.ask("PUT", `/api/jobs/${randomUUID()}`, { body: text, headers: creating });
        expect([201, 400, 422]).toContain(response.status);
      }),
      { numRuns: 400, seed: 8 },
    );
  });

  it("never fails on made-up ids, queries and tags", async () => {
    const header = fc.string({ unit: fc.integer({ min: 0x20, max: 0x7e }).map((code) => String.fromCharCode(code)) });
    await fc.assert(
      fc.asyncProperty(fc.string(), fc.string(), header, async (word, text, tag) => {
        const w = encodeURIComponent(word.replaceAll(/\p{Surrogate}/gu, ""));
        const t = encodeURIComponent(text.replaceAll(/\p{Surrogate}/gu, ""));
        const asked = [
          app.ask("GET", `/api/jobs?q=${t}&after=${w}`),
          app.ask("GET", `/api/jobs?q=${t}`),
          app.ask("GET", `/api/changes?since=${w}`),
          app.ask("GET", `/api/jobs/${w || "x"}`),
          app.ask("PUT", `/api/jobs/${id}`, { body: job({}), headers: { ...json, "if-match": tag.trim() || "x" } }),
        ];
        for (const response of await Promise.all(asked)) expect(response.status).toBeLessThan(500);
      }),
      { numRuns: 150, seed: 8 },
    );
  });

  it("answers 200 to what the table only just refuses", async () => {
    const bytes = "x";
    expect((await app.ask("PUT", `/api/logs/${sha256Of(bytes)}`, { body: bytes })).status).toBe(201);
    const own = { ...creating, origin: "http://localhost", "sec-fetch-site": "same-origin" };
    expect((await app.ask("PUT", `/api/jobs/${id}`, { body: job({}), headers: own })).status).toBe(201);
    expect((await app.ask("GET", "/api/jobs?limit=200", { headers: { "sec-fetch-site": "none" } })).status).toBe(200);
  });
});
