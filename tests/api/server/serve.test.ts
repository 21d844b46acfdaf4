/** The server as a process: it starts within two seconds, refuses in a sentence what it cannot do, and stops cleanly. */
import { execFileSync } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { creating, sampleFiles, sha256Of, smallJob, zipped } from "../../fixtures/kept-app.ts";
import { freePort, launchServer, startServer, until } from "../../fixtures/real-server.ts";

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "serve-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const id = (n: number) => `00000000-0000-4000-8000-${String(n).padStart(12, "0")}`;

describe("the server", () => {
  it("starts, keeps across a restart, and ends with 0 on SIGTERM", async () => {
    const first = await startServer({ DATA_DIR: join(folder, "a") });
    const put = await fetch(`${first.address}/api/jobs/${id(1)}`, {
      method: "PUT",
      body: smallJob("kept"),
      headers: creating,
    });
    expect(put.status).toBe(201);
    expect(await first.end()).toBe(0);
    expect(first.output().trim().split("\n")).toHaveLength(1);
    const began = performance.now();
    const second = await startServer({ DATA_DIR: join(folder, "a") });
    console.log(`serving after ${Math.round(performance.now() - began)} ms`);
    expect(await (await fetch(`${second.address}/api/jobs/${id(1)}`)).text()).toBe(smallJob("kept"));
    expect(await second.end("SIGINT")).toBe(0);
  });

  it("finishes a diagnosis that it accepted before it stops, and takes no more", async () => {
    const server = await startServer({ DATA_DIR: join(folder, "b") });
    const body = zipped(sampleFiles("orchard-sprayer-ground-stud"));
    const asked = fetch(`${server.address}/api/diagnoses`, {
      method: "POST",
      body,
      headers: { "content-type": "application/zip" },
    });
    await until(async () =>
      (await (await fetch(`${server.address}/api/metrics`)).text()).includes("diagnoses_running 1"),
    );
    const end = server.end();
    expect(((await (await asked).json()) as { format: string }).format).toBe("diagnosis/1");
    expect(await end).toBe(0);
    await expect(fetch(`${server.address}/api/health`)).rejects.toThrow();
  });

  it("ends the work of a client that goes away", async () => {
    const server = await startServer({ DATA_DIR: join(folder, "c") });
    const gone = new AbortController();
    const body = zipped(sampleFiles("orchard-sprayer-ground-stud"));
    const asking = { method: "POST", body, headers: { "content-type": "application/zip" }, signal: gone.signal };
    const asked = fetch(`${server.address}/api/diagnoses`, asking).catch(() => null);
    const metrics = async () => (await fetch(`${server.address}/api/metrics`)).text();
    await until(async () => (await metrics()).includes("diagnoses_running 1"));
    gone.abort();
    expect(await asked).toBeNull();
    await until(async () => /diagnoses_cancelled_total 1\b/.test(await metrics()));
    expect(await metrics()).toContain("diagnoses_running 0");
    await server.end();
  });

  it("says in a sentence that the port is taken, or that the data are not its own", async () => {
    const port = await freePort();
    const other = createServer().listen(port, "127.0.0.1");
    await expect(startServer({ DATA_DIR: join(folder, "d"), PORT: String(port) })).rejects.toThrow(
      /ended with 1: Cannot listen at 127.0.0.1:\d+: something else listens there already/,
    );
    other.close();
    mkdirSync(join(folder, "e"));
    writeFileSync(
      join(folder, "e", "store.sqlite"),
      "not a database, and long enough to be read as one by nobody".repeat(20),
    );
    await expect(startServer({ DATA_DIR: join(folder, "e") })).rejects.toThrow(
      /ended with 1: The store cannot be opened: .*should be the database of this program/,
    );
  });

  it("answers 503 with the reason while its database is away", async () => {
    const port = await freePort();
    const database = "postgres://nobody@127.0.0.1:9/none";
    const server = launchServer({ DATA_DIR: join(folder, "f"), DATABASE_URL: database, PORT: String(port) });
    const health = () => fetch(`http://127.0.0.1:${port}/api/health`).catch(() => null);
    await until(async () => (await health()) !== null);
    const answer = await health();
    expect(answer!.status).toBe(503);
    expect(await answer!.json()).toMatchObject({ status: 503, detail: expect.stringContaining("ECONNREFUSED") });
    expect(server.output()).not.toContain("is ready");
    expect(await server.end()).toBe(0);
  });
});

/** A small file system of its own needs the right to mount one, as the machine of the automatic tests has it. */
const mayMount = process.getuid?.() === 0;
if (!mayMount) console.log("Only root can mount a small disk: the test of a full disk is left out of this run.");
describe.runIf(mayMount)("on a full disk", () => {
  it("answers 507, damages nothing, and goes on when there is room again", async () => {
    const disk = join(folder, "disk");
    mkdirSync(disk);
    execFileSync("mount", ["-t", "tmpfs", "-o", "size=2m", "tmpfs", disk]);
    try {
      const server = await startServer({ DATA_DIR: disk });
      const kept = new Map<string, string>();
      const refused: number[] = [];
      for (let n = 0; n < 60; n++) {
        const text = smallJob(`job ${n}`, { notes: "n".repeat(100_000) });
        const answer = await fetch(`${server.address}/api/jobs/${id(n)}`, {
          method: "PUT",
          body: text,
          headers: creating,
        });
        if (answer.status === 201) kept.set(id(n), text);
        else refused.push(answer.status);
        if (refused.length === 1) expect(await answer.json()).toMatchObject({ status: 507, title: "The disk is full" });
      }
      const log = "0123456789".repeat(200_000);
      const put = await fetch(`${server.address}/api/logs/${sha256Of(log)}`, { method: "PUT", body: log });
      expect([put.status, ...new Set(refused)]).toEqual([507, 507]);
      expect((await fetch(`${server.address}/api/logs/${sha256Of(log)}`)).status).toBe(404);
      expect(kept.size).toBeGreaterThan(3);
      for (const [job, text] of kept)
        expect(await (await fetch(`${server.address}/api/jobs/${job}`)).text()).toBe(text);
      execFileSync("mount", ["-o", "remount,size=40m", disk]);
      const again = await fetch(`${server.address}/api/logs/${sha256Of(log)}`, { method: "PUT", body: log });
      expect(again.status).toBe(201);
      await server.end("SIGKILL");
      const restarted = await startServer({ DATA_DIR: disk });
      for (const [job, text] of kept)
        expect(await (await fetch(`${restarted.address}/api/jobs/${job}`)).text()).toBe(text);
      await restarted.end();
    } finally {
      execFileSync("umount", ["-l", disk]);
    }
  });
});
