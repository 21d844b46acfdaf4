/** Jobs, logs and changes over HTTP, as formats.md section 3 has them. */
import { randomUUID } from "node:crypto";
import { unzipSync } from "fflate";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { diagnoseFiles } from "../../../analysis/index.ts";
import {
  creating,
  json,
  type KeptApp,
  keptApp,
  keptText,
  replacing,
  sampleFiles,
  sha256Of,
  smallJob,
} from "../../fixtures/kept-app.ts";

let app: KeptApp;
beforeAll(async () => {
  app = await keptApp();
});
afterAll(() => app.end());

const create = async (title: string, id: string = randomUUID()) => {
  const response = await app.ask("PUT", `/api/jobs/${id}`, { body: smallJob(title), headers: creating });
  expect(response.status).toBe(201);
  return {
    id,
    revision: ((await response.json()) as { revision: number }).revision,
    tag: response.headers.get("etag")!,
  };
};

describe("a job", () => {
  it("is created, read, replaced and deleted, each step guarded by the revision", async () => {
    const { id, revision, tag } = await create("first");
    expect(tag).toBe(`"${revision}"`);
    const read = await app.ask("GET", `/api/jobs/${id}`);
    expect(read.headers.get("etag")).toBe(tag);
    expect(await read.text()).toBe(smallJob("first"));
    expect((await app.ask("GET", `/api/jobs/${id}`, { headers: { "if-none-match": tag } })).status).toBe(304);
    const head = await app.ask("HEAD", `/api/jobs/${id}`);
    expect([head.status, head.headers.get("etag"), await head.text()]).toEqual([200, tag, ""]);

    const put = await app.ask("PUT", `/api/jobs/${id}`, {
      body: smallJob("second"),
      headers: { ...json, "if-match": tag },
    });
    expect(put.status).toBe(200);
    const newTag = put.headers.get("etag")!;
    expect(newTag).not.toBe(tag);

    expect((await app.ask("DELETE", `/api/jobs/${id}`)).status).toBe(428);
    expect((await app.ask("DELETE", `/api/jobs/${id}`, { headers: { "if-match": tag } })).status).toBe(412);
    expect((await app.ask("DELETE", `/api/jobs/${id}`, { headers: { "if-match": newTag } })).status).toBe(204);
    expect((await app.ask("GET", `/api/jobs/${id}`)).status).toBe(404);
    expect((await app.ask("DELETE", `/api/jobs/${id}`, { headers: { "if-match": newTag } })).status).toBe(404);
    expect((await app.ask("PUT", `/api/jobs/${id}`, { body: smallJob("back"), headers: creating })).status).toBe(201);
  });

  it("is neither created twice nor replaced from an old revision; what lost is kept beside", async () => {
    const { id, revision } = await create("base");
    const twice = await app.ask("PUT", `/api/jobs/${id}`, { body: smallJob("base"), headers: creating });
    expect(twice.status).toBe(412);
    expect(twice.headers.get("etag")).toBe(`"${revision}"`);
    await app.ask("PUT", `/api/jobs/${id}`, { body: smallJob("won"), headers: replacing(revision) });
    const lost = await app.ask("PUT", `/api/jobs/${id}`, { body: smallJob("lost"), headers: replacing(revision) });
    expect(lost.status).toBe(412);
    const { sibling, current } = (await lost.json()) as {
      sibling: { revision: number };
      current: { revision: number };
    };
    expect(current.revision).toBeGreaterThan(revision);
    const beside = await app.ask("GET", `/api/jobs/${id}/revisions/${sibling.revision}`);
    expect(await beside.text()).toBe(smallJob("lost"));
    const { revisions } = (await (await app.ask("GET", `/api/jobs/${id}/revisions`)).json()) as {
      revisions: { sibling: boolean; base: number | null }[];
    };
    expect(revisions.map(({ sibling: beside }) => beside)).toEqual([true, false, false]);
    expect(revisions[0]!.base).toBe(revision);
    expect(await (await app.ask("GET", `/api/jobs/${id}`)).text()).toBe(smallJob("won"));
  });

  it("reads If-Match as RFC 9110 has it: a list, any, weak tags and foreign ones", async () => {
    const { id, revision } = await create("tags");
    const put = async (tags: string) =>
      (await app.ask("PUT", `/api/jobs/${id}`, { body: smallJob(tags), headers: { ...json, "if-match": tags } }))
        .status;
    expect(await put(`W/"${revision}"`)).toBe(412);
    expect(await put('"foreign"')).toBe(412);
    expect(await put(`"999999", "${revision}"`)).toBe(200);
    expect(await put("*")).toBe(200);
    expect(await put(`"${revision}`)).toBe(400);
    const missing = await app.ask("PUT", `/api/jobs/${randomUUID()}`, {
      body: smallJob("x"),
      headers: { ...json, "if-match": "*" },
    });
    expect(missing.status).toBe(412);
  });

  it("keeps fields that nobody knows, and signs beyond ASCII, byte for byte", async () => {
    const id = randomUUID();
    const body = smallJob("Señal 🚜 \\u0000 \\ud800", { "x-own": { deep: [1.0, null] } }).replaceAll("\\\\u", "\\u");
    expect((await app.ask("PUT", `/api/jobs/${id}`, { body, headers: creating })).status).toBe(201);
    expect(await (await app.ask("GET", `/api/jobs/${id}`)).text()).toBe(body);
  });

  it("is listed and found, page after page, by cursor or by the last id", async () => {
    const word = `w${randomUUID().slice(0, 8)}`;
    const made = [];
    for (const n of [1, 2, 3, 4, 5]) made.unshift((await create(`${word} ${n}`)).id);
    type Page = { jobs: { id: string; title: string; updated: string; revision: number }[]; after: string | null };
    const page = async (query: string) => (await (await app.ask("GET", `/api/jobs?${query}`)).json()) as Page;
    const first = await page(`q=${word}&limit=2`);
    const second = await page(`q=${word}&limit=2&after=${first.after}`);
    const third = await page(`q=${word}&limit=2&after=${second.jobs.at(-1)!.id}`);
    expect([first, second, third].flatMap(({ jobs }) => jobs.map(({ id }) => id))).toEqual(made);
    expect(third.after).toBeNull();
    expect(first.jobs[0]).toMatchObject({ title: `${word} 5`, updated: expect.stringMatching(/^\d{4}-.*Z$/) });
    expect((await page(`q=${word} 3`)).jobs).toHaveLength(1);
  });
});

describe("logs and changes", () => {
  const bytes = "seconds,volts\n0,12.6\n";
  const sha256 = sha256Of(bytes);

  it("keep a log under its hash and refuse another's", async () => {
    expect((await app.ask("HEAD", `/api/logs/${sha256}`)).status).toBe(404);
    expect((await app.ask("PUT", `/api/logs/${sha256}`, { body: bytes })).status).toBe(201);
    expect((await app.ask("PUT", `/api/logs/${sha256}`, { body: bytes })).status).toBe(200);
    const head = await app.ask("HEAD", `/api/logs/${sha256}`);
    expect([head.status, head.headers.get("content-length")]).toEqual([200, String(bytes.length)]);
    expect(await (await app.ask("GET", `/api/logs/${sha256}`)).text()).toBe(bytes);
    const wrong = await app.ask("PUT", `/api/logs/${sha256}`, { body: `${bytes} ` });
    expect(wrong.status).toBe(422);
    expect(await wrong.json()).toMatchObject({ status: 422, field: "sha256" });
    const empty = sha256Of("");
    expect((await app.ask("PUT", `/api/logs/${empty}`, { body: "" })).status).toBe(201);
    expect(await (await app.ask("GET", `/api/logs/${empty}`)).text()).toBe("");
  });

  it("feed every change from the start and after a cursor, a deletion too", async () => {
    type Feed = { changes: { id: string; revision: number; deleted: boolean }[]; cursor: string };
    const feed = async (since = "") => (await (await app.ask("GET", `/api/changes${since}`)).json()) as Feed;
    const before = await feed();
    const { id, revision } = await create("to be followed");
    const after = await feed(`?since=${before.cursor}`);
    expect(after.changes).toEqual([{ id, revision, deleted: false }]);
    await app.ask("DELETE", `/api/jobs/${id}`, { headers: { "if-match": `"${revision}"` } });
    const deleted = await feed(`?since=${after.cursor}`);
    expect(deleted.changes).toMatchObject([{ id, deleted: true }]);
    expect(await feed(`?since=${deleted.cursor}`)).toEqual({ changes: [], cursor: deleted.cursor });
    // a cursor of another store starts again
    expect((await feed(`?since=00000000.99`)).changes.length).toBe((await feed()).changes.length);
  });
});

describe("a kept job with its logs", () => {
  const files = sampleFiles("orchard-sprayer-ground-stud");
  const id = randomUUID();

  it("says which log it lacks, then is diagnosed as its folder is", async () => {
    expect((await app.ask("PUT", `/api/jobs/${id}`, { body: keptText(files), headers: creating })).status).toBe(201);
    const early = await app.ask("GET", `/api/jobs/${id}/diagnosis`);
    expect(early.status).toBe(422);
    expect(await early.json()).toMatchObject({ file: "battery.csv", field: "recordings[0]" });
    for (const [name, bytes] of files) {
      if (name !== "job.json") await app.ask("PUT", `/api/logs/${sha256Of(bytes)}`, { body: bytes });
    }
    const response = await app.ask("GET", `/api/jobs/${id}/diagnosis`);
    expect(response.status).toBe(200);
    expect(await response.json()).toEqual(JSON.parse(JSON.stringify(diagnoseFiles(id, files))));
    const done = app.services.pool.load().done;
    const tag = response.headers.get("etag")!;
    expect((await app.ask("GET", `/api/jobs/${id}/diagnosis`, { headers: { "if-none-match": tag } })).status).toBe(304);
    expect((await app.ask("GET", `/api/jobs/${id}/diagnosis`)).status).toBe(200);
    expect(app.services.pool.load().done).toBe(done);
  });

  it("comes back as a zipped folder, every byte of it", async () => {
    const zip = await app.ask("GET", `/api/jobs/${id}/folder`);
    expect(zip.headers.get("content-type")).toBe("application/zip");
    const unpacked = unzipSync(new Uint8Array(await zip.arrayBuffer()));
    expect(new TextDecoder().decode(unpacked["job.json"])).toBe(keptText(files));
    for (const [name, bytes] of files) if (name !== "job.json") expect(unpacked[name]).toEqual(bytes);
  });
});
