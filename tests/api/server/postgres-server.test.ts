/** What only a real PostgreSQL server can show: several servers over one store, and a database whose disk is full. */
import { execFileSync } from "node:child_process";
import { randomBytes } from "node:crypto";
import { mkdirSync, mkdtempSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import pg from "pg";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { freshDatabase } from "../../fixtures/databases.ts";
import { creating, replacing, sha256Of, smallJob } from "../../fixtures/kept-app.ts";
import { type RealServer, startServer } from "../../fixtures/real-server.ts";

const address = process.env.TEST_DATABASE_URL ?? "";
if (!address) console.log("TEST_DATABASE_URL is not set: the tests of a PostgreSQL server are left out of this run.");

const id = (n: number) => `00000000-0000-4000-8000-${String(n).padStart(12, "0")}`;

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "shared-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function put(server: RealServer, job: string, text: string, headers: Record<string, string>): Promise<Response> {
  return fetch(`${server.address}/api/jobs/${job}`, { method: "PUT", body: text, headers });
}

interface Feed {
  readonly changes: readonly { readonly id: string; readonly revision: number }[];
  readonly cursor: string;
}

describe.runIf(address)("two servers over one database", () => {
  it("give one winner to every race, keep every loser, and feed every change to who follows either", async () => {
    const { url, drop } = await freshDatabase(address);
    const settings = { DATA_DIR: folder, DATABASE_URL: url };
    const servers = await Promise.all([startServer(settings), startServer(settings)]);
    const seen = new Map<string, number>();
    let cursor = "";
    const follow = async (server: RealServer) => {
      const since = cursor ? `?since=${cursor}` : "";
      const feed = (await (await fetch(`${server.address}/api/changes${since}`)).json()) as Feed;
      for (const { id: job, revision } of feed.changes) seen.set(job, revision);
      cursor = feed.cursor;
      return feed.changes.length;
    };
    let writing = true;
    const following = (async () => {
      for (let turn = 0; writing; turn++) await follow(servers[turn % 2]!);
    })();
    const jobs = Array.from({ length: 30 }, (_, n) => id(n));
    const outcomes = await Promise.all(
      jobs.map(async (job) => {
        const both = await Promise.all(servers.map((server, n) => put(server, job, smallJob(`from ${n}`), creating)));
        const made = both.find(({ status }) => status === 201)!;
        const { revision } = (await made.json()) as { revision: number };
        const next = await Promise.all(
          servers.map((server, n) => put(server, job, smallJob(`again from ${n}`), replacing(revision))),
        );
        return [both, next].map((answers) => answers.map(({ status }) => status).sort());
      }),
    );
    writing = false;
    await following;
    while ((await follow(servers[0]!)) > 0);
    expect(new Set(outcomes.map((one) => JSON.stringify(one)))).toEqual(new Set(["[[201,412],[200,412]]"]));
    for (const job of jobs) {
      const answers = await Promise.all(servers.map(({ address: at }) => fetch(`${at}/api/jobs/${job}/revisions`)));
      const [one, other] = (await Promise.all(answers.map((answer) => answer.json()))) as {
        revisions: { revision: number; sibling: boolean }[];
      }[];
      expect(one).toEqual(other);
      expect(one!.revisions.filter(({ sibling }) => sibling)).toHaveLength(2);
      expect(seen.get(job)).toBe(Math.max(...one!.revisions.filter(({ sibling }) => !sibling).map((r) => r.revision)));
    }
    const log = "seconds,volts\n0,12.5\n";
    const kept = await fetch(`${servers[0]!.address}/api/logs/${sha256Of(log)}`, { method: "PUT", body: log });
    expect(kept.status).toBe(201);
    expect(await (await fetch(`${servers[1]!.address}/api/logs/${sha256Of(log)}`)).text()).toBe(log);
    expect(await Promise.all(servers.map((server) => server.end()))).toEqual([0, 0]);
    await drop();
  });
});

/** The database lies in a tablespace on a small disk, which takes a server on this machine and the right to mount. */
const mayFill = address !== "" && process.getuid?.() === 0;
if (address && !mayFill) console.log("Only root can mount a small disk: a full database is left out of this run.");
describe.runIf(mayFill)("a database on a full disk", () => {
  // nothing that is compressed before it is stored fills a disk: the notes are random
  it("answers 507, damages nothing, and goes on when there is room again", async () => {
    const admin = new pg.Client({ connectionString: address });
    await admin.connect();
    const { rows } = await admin.query<{ data_directory: string }>("show data_directory");
    const owner = statSync(rows[0]!.data_directory);
    const disk = join("/tmp", `full-${process.pid}`);
    mkdirSync(disk);
    const owned = `uid=${owner.uid},gid=${owner.gid},mode=700`;
    execFileSync("mount", ["-t", "tmpfs", "-o", `size=16m,${owned}`, "tmpfs", disk]);
    const name = `full_${process.pid}`;
    try {
      await admin.query(`create tablespace ${name} location '${disk}'`);
      await admin.query(`create database ${name} tablespace ${name}`);
      const url = new URL(address);
      url.pathname = `/${name}`;
      const server = await startServer({ DATA_DIR: folder, DATABASE_URL: url.href });
      const kept = new Map<string, string>();
      const refused = new Set<number>();
      for (let n = 0; n < 400 && refused.size === 0; n++) {
        const text = smallJob(`job ${n}`, { notes: randomBytes(90_000).toString("base64") });
        const answer = await put(server, id(n), text, creating);
        if (answer.status === 201) kept.set(id(n), text);
        else refused.add(answer.status);
      }
      expect([...refused]).toEqual([507]);
      expect(kept.size).toBeGreaterThan(3);
      for (const [job, text] of kept)
        expect(await (await fetch(`${server.address}/api/jobs/${job}`)).text()).toBe(text);
      execFileSync("mount", ["-o", `remount,size=64m,${owned}`, disk]);
      expect((await put(server, id(1000), smallJob("room again"), creating)).status).toBe(201);
      expect(await server.end()).toBe(0);
    } finally {
      await admin.query(`drop database if exists ${name} with (force)`);
      await admin.query(`drop tablespace if exists ${name}`);
      await admin.end();
      execFileSync("umount", ["-l", disk]);
      rmSync(disk, { recursive: true, force: true });
    }
  });
});
