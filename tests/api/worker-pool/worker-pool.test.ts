/** Diagnoses in workers: the same answer as the analysis gives, a queue that ends, and work that stops when nobody waits. */
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { diagnoseFiles, Problem } from "../../../analysis/index.ts";
import { cacheKey, memoryCache } from "../../../api/worker-pool/diagnosis-cache.ts";
import { Cancelled, PoolFull, type WorkerPool, workerPool } from "../../../api/worker-pool/worker-pool.ts";
import { type KeptApp, keptApp, sampleFiles, sampleNames, zipped } from "../../fixtures/kept-app.ts";

const orchard = zipped(sampleFiles("orchard-sprayer-ground-stud"));
const orchardWork = () => ({ folder: "job.zip", zip: orchard.slice() });

describe("the worker pool", () => {
  let pool: WorkerPool;
  beforeAll(() => {
    pool = workerPool({ workers: 1, waiting: 1 });
  });
  afterAll(() => pool.close());

  it("says what is wrong with a folder as the analysis does", async () => {
    const work = { folder: "job.zip", files: [["job.json", new TextEncoder().encode("{")]] as [string, Uint8Array][] };
    const error = await pool.diagnose(work).catch((thrown: unknown) => thrown);
    expect(error).toBeInstanceOf(Problem);
    expect((error as Problem).place).toMatchObject({ file: "job.json", line: 1 });
  });

  it("refuses what can neither run nor wait, and says when to come back", async () => {
    const first = pool.diagnose(orchardWork());
    const second = pool.diagnose(orchardWork());
    const third = await pool.diagnose(orchardWork()).catch((thrown: unknown) => thrown);
    expect(third).toBeInstanceOf(PoolFull);
    expect((third as PoolFull).retryAfterSeconds).toBeGreaterThanOrEqual(1);
    expect(() => pool.checkRoom()).toThrow(PoolFull);
    expect(await first).toBe(await second);
  });

  it("ends what runs and takes out of the queue what waits when nobody wants it, and goes on", async () => {
    const before = pool.load();
    const [running, waiting] = [new AbortController(), new AbortController()];
    const first = pool.diagnose(orchardWork(), running.signal).catch((thrown: unknown) => thrown);
    const second = pool.diagnose(orchardWork(), waiting.signal).catch((thrown: unknown) => thrown);
    waiting.abort();
    expect(await second).toBeInstanceOf(Cancelled);
    running.abort();
    expect(await first).toBeInstanceOf(Cancelled);
    expect(JSON.parse(await pool.diagnose(orchardWork()))).toMatchObject({ format: "diagnosis/1" });
    const after = pool.load();
    expect([after.cancelled - before.cancelled, after.done - before.done, after.running, after.waiting]).toEqual([
      2, 1, 0, 0,
    ]);
  });

  it("ends a diagnosis that takes too long, with a sentence", async () => {
    const hasty = workerPool({ workers: 1, seconds: 0.001 });
    await expect(hasty.diagnose(orchardWork())).rejects.toThrow(/should be diagnosed within 0.001 s/);
    await hasty.close();
  });

  it("finishes what it accepted before it closes", async () => {
    const leaving = workerPool({ workers: 1 });
    const accepted = [leaving.diagnose(orchardWork()), leaving.diagnose(orchardWork())];
    await leaving.close();
    expect(await Promise.all(accepted)).toHaveLength(2);
    await expect(leaving.diagnose(orchardWork())).rejects.toThrow(PoolFull);
  });
});

describe("the diagnosis cache", () => {
  it("tells apart what joined texts would not, and forgets the longest unused", async () => {
    expect(await cacheKey(["ab", "c"])).not.toBe(await cacheKey(["a", "bc"]));
    const cache = memoryCache(12);
    for (const key of ["a", "b", "c", "d"]) {
      await cache.keep(key, "123");
      await cache.find("a");
    }
    await cache.keep("e", "123");
    expect([await cache.find("a"), await cache.find("b")]).toEqual(["123", null]);
  });
});

describe("POST /api/diagnoses", () => {
  let app: KeptApp;
  beforeAll(async () => {
    app = await keptApp();
  });
  afterAll(() => app.end());

  it("answers for every sample as the analysis does", async () => {
    const posted = sampleNames().map(async (name) => {
      const files = sampleFiles(name);
      const asking = { body: zipped(files), headers: { "content-type": "application/zip" } };
      const response = await patiently(() => app.ask("POST", "/api/diagnoses", asking));
      expect(response.status).toBe(200);
      return { files, name, answer: await response.json() };
    });
    for (const { files, name, answer } of await Promise.all(posted)) {
      expect(answer, name).toEqual(JSON.parse(JSON.stringify(diagnoseFiles("job.zip", files))));
    }
  });

  it("takes a form as it takes a zip", async () => {
    const files = sampleFiles("beach-tractor-typed");
    const form = new FormData();
    for (const [file, bytes] of files) form.append("files", new Blob([bytes]), file);
    const posted = await app.ask("POST", "/api/diagnoses", { body: form });
    expect(await posted.json()).toEqual(JSON.parse(JSON.stringify(diagnoseFiles("job", files))));
  });

  it("answers 503 with Retry-After when every place is taken", async () => {
    const small = await keptApp({}, workerPool({ workers: 1, waiting: 0 }));
    const ask = () =>
      small.ask("POST", "/api/diagnoses", { body: orchard, headers: { "content-type": "application/zip" } });
    const answers = await Promise.all([ask(), ask(), ask()]);
    expect(answers.map(({ status }) => status).sort()).toEqual([200, 503, 503]);
    const full = answers.find(({ status }) => status === 503)!;
    expect(Number(full.headers.get("retry-after"))).toBeGreaterThanOrEqual(1);
    await small.end();
  });
});

/** Comes back when the server says so. */
async function patiently(ask: () => Promise<Response>): Promise<Response> {
  for (let turn = 0; turn < 60; turn++) {
    const response = await ask();
    if (response.status !== 503) return response;
    await new Promise((resolve) => setTimeout(resolve, 500));
  }
  throw new Error("the server should have had a place by now");
}
