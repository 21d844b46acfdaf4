/**
 * `npm run bench:server`: requests a second and waiting times of the real server on this machine, from a bounded load on
 * loopback: keeping a job, reading one, the list and the search at 100,000 jobs, diagnoses; and whether its memory stays
 * flat over 50,000 requests. On SQLite, and on PostgreSQL where TEST_DATABASE_URL names a server.
 * Options: JOBS=100000 REQUESTS=50000 CLIENTS=8 STORE=postgres (that one alone).
 */
import { randomUUID } from "node:crypto";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { Agent, request } from "node:http";
import { cpus, tmpdir } from "node:os";
import { join } from "node:path";
import { sql } from "kysely";
import { newDocument } from "../../api/kept-document.ts";
import { openDatabase } from "../../api/services.ts";
import type { Database } from "../../api/store/database.ts";
import { chanceOf } from "../fixtures/chance.ts";
import { freshDatabase } from "../fixtures/databases.ts";
import { creating, sampleFiles, smallJob, zipped } from "../fixtures/kept-app.ts";
import { startServer } from "../fixtures/real-server.ts";

const jobs = Number(process.env.JOBS ?? 100_000);
const requests = Number(process.env.REQUESTS ?? 50_000);
const clients = Number(process.env.CLIENTS ?? 8);
const chance = chanceOf(8);

const things = [
  "sprayer",
  "harvester",
  "workboat",
  "tender",
  "loader",
  "dumper",
  "tanker",
  "tractor",
  "truck",
  "barge",
];
const places = ["orchard", "harbour", "quarry", "forest", "ferry", "peat", "hay", "milk", "gravel", "river"];
const troubles = ["resets on transmit", "distorts", "warns of low voltage", "cuts out", "new install"];

const title = (n: number) => `${chance.pick(places)} ${chance.pick(things)} ${n}, ${chance.pick(troubles)}`;

interface Asked {
  readonly method: string;
  readonly path: string;
  readonly body?: string | Uint8Array;
  readonly headers?: Readonly<Record<string, string>>;
}

const agent = new Agent({ keepAlive: true, maxSockets: clients });

function ask(address: string, { method, path, body, headers }: Asked): Promise<number> {
  return new Promise((done, failed) => {
    const sent = request(`${address}${path}`, { method, headers, agent }, (answer) => {
      answer.resume();
      answer.on("end", () => done(answer.statusCode ?? 0));
    });
    sent.on("error", failed);
    sent.end(body);
  });
}

/** `count` requests from as many clients at once as there are; each waits for its answer before it asks again. */
async function load(
  what: string,
  address: string,
  count: number,
  next: () => Asked,
  expected: number[],
): Promise<void> {
  const took: number[] = [];
  let left = count;
  const began = performance.now();
  const client = async () => {
    while (left-- > 0) {
      const sent = performance.now();
      const status = await ask(address, next());
      took.push(performance.now() - sent);
      if (!expected.includes(status)) throw new Error(`${what}: answered ${status}`);
    }
  };
  await Promise.all(Array.from({ length: clients }, client));
  const seconds = (performance.now() - began) / 1000;
  took.sort((a, b) => a - b);
  const at = (share: number) =>
    took[Math.min(took.length - 1, Math.floor(share * took.length))]!.toFixed(1).padStart(8);
  const rate = (count / seconds).toFixed(0).padStart(7);
  console.log(`  ${what.padEnd(34)} ${rate} /s   p50 ${at(0.5)} ms   p99 ${at(0.99)} ms   (${count})`);
}

/** Fills the store past the server, some thousand jobs a transaction: what is measured is a store that holds them. */
async function fill(database: Database): Promise<string[]> {
  const ids = Array.from({ length: jobs }, () => randomUUID() as string);
  const now = Date.now();
  for (let from = 0; from < jobs; from += 2_000) {
    await database.write(async (change) => {
      for (let n = from; n < Math.min(jobs, from + 2_000); n++) {
        const document = newDocument(smallJob(title(n)));
        const revision = n + 1;
        const at = { shop: "own", revision };
        const row = { ...at, id: ids[n]!, deleted: 0, title: document.title, updated_ms: now, words: document.words };
        await change.insertInto("jobs").values(row).execute();
        const written = { base: null, sibling: 0, sha256: "0".repeat(64), written_ms: now, account: null };
        await change
          .insertInto("revisions")
          .values({ ...at, job: ids[n]!, document: document.text, ...written })
          .execute();
        await database.search.index(change, row);
      }
    });
  }
  await database.db.insertInto("shops").values({ id: "own", name: "own", last_revision: jobs }).execute();
  // what a restore does too, and PostgreSQL by itself within minutes of such growth
  await sql`analyze`.execute(database.db);
  return ids;
}

function residentMiB(pid: number): number {
  const pages = /VmRSS:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, "utf8"))?.[1] ?? "0";
  return Math.round(Number(pages) / 1024);
}

async function bench(store: string, settings: Record<string, string>): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "bench-"));
  const all = { DATA_DIR: folder, ...settings };
  const database = await openDatabase(all);
  const began = performance.now();
  const ids = await fill(database);
  await database.close();
  console.log(`${store}: ${jobs} jobs filled in within ${((performance.now() - began) / 1000).toFixed(0)} s`);
  const server = await startServer(all);
  const { address } = server;
  const zip = zipped(sampleFiles("orchard-sprayer-ground-stud"));
  const get = (path: string): Asked => ({ method: "GET", path });
  const put = (): Asked => ({
    method: "PUT",
    path: `/api/jobs/${randomUUID()}`,
    body: smallJob(title(jobs)),
    headers: creating,
  });
  const one = () => get(`/api/jobs/${chance.pick(ids)}`);
  await load("keeping a job", address, 2_000, put, [201]);
  await load("reading a job", address, 10_000, one, [200]);
  await load("the list", address, 3_000, () => get("/api/jobs"), [200]);
  const deep = () => get(`/api/jobs?after=${Math.floor(chance.between(1, jobs))}`);
  await load("the list, anywhere in it", address, 3_000, deep, [200]);
  await load(
    "search: a word of a tenth of them",
    address,
    2_000,
    () => get(`/api/jobs?q=${chance.pick(places)}`),
    [200],
  );
  const two = () => get(`/api/jobs?q=${chance.pick(places)}+${chance.pick(things).slice(0, 4)}`);
  await load("search: two beginnings of words", address, 2_000, two, [200]);
  const number = () => get(`/api/jobs?q=${Math.floor(chance.between(0, jobs))}`);
  await load("search: one job by its number", address, 2_000, number, [200]);
  await load(
    "search: a single letter",
    address,
    1_000,
    () => get(`/api/jobs?q=${chance.pick(["o", "h", "r"])}`),
    [200],
  );
  await load("changes, anywhere", address, 500, () => get("/api/changes"), [200]);
  const fresh = (): Asked => ({
    method: "POST",
    path: "/api/diagnoses",
    body: zip,
    headers: { "content-type": `application/zip; n=${randomUUID()}` },
  });
  await load("diagnoses of four logs", address, 30, fresh, [200]);
  const first = residentMiB(server.process.pid!);
  const readings = [first];
  for (let part = 0; part < 5; part++) {
    await load(
      `memory, part ${part + 1}`,
      address,
      requests / 5,
      () => (chance.yes(0.1) ? put() : chance.yes(0.5) ? one() : get("/api/jobs")),
      [200, 201],
    );
    readings.push(residentMiB(server.process.pid!));
  }
  console.log(`  memory over ${requests} requests: ${readings.join(", ")} MiB`);
  await server.end();
  rmSync(folder, { recursive: true });
}

console.log(
  `${cpus().length} cores (${cpus()[0]?.model}), Node ${process.version}, ${clients} clients, ${new Date().toISOString().slice(0, 10)}`,
);
if (process.env.STORE !== "postgres") await bench("SQLite", {});
const postgres = process.env.TEST_DATABASE_URL;
if (postgres) {
  const { url, drop } = await freshDatabase(postgres);
  await bench("PostgreSQL", { DATABASE_URL: url });
  await drop();
} else console.log("TEST_DATABASE_URL is not set: PostgreSQL is left out.");
