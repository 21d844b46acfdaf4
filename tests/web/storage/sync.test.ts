/**
 * Two devices that edit offline in any order, over a network that loses requests and answers and delivers some twice:
 * once both have synced, they are equal, and every edit is in a revision on the server.
 */

import { randomUUID } from "node:crypto";
import { existsSync } from "node:fs";
import fc from "fast-check";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type LocalStore, resolve as resolveConflict, syncOnce } from "../../../web/storage/sync/sync.ts";
import { type SyncEntry, stateOf } from "../../../web/storage/sync/sync-entry.ts";
import { syncServer, Unreachable } from "../../../web/storage/sync/sync-server.ts";
import { contentOf, type JobContent, wireText } from "../../../web/storage/sync/wire.ts";
import { chanceOf } from "../../fixtures/chance.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";
import { type KeptApp, keptApp, sha256Of } from "../../fixtures/kept-app.ts";

class Device implements LocalStore {
  readonly jobs = new Map<string, JobContent | null>();
  readonly logs = new Map<string, ArrayBuffer>();
  readonly memory = new Map<string, SyncEntry>();
  place: string | null = null;

  async ids() {
    return [...this.jobs.keys()];
  }
  async read(id: string) {
    return this.jobs.get(id);
  }
  async take(id: string, content: JobContent | null, seen: string | null | undefined) {
    const now = this.jobs.get(id);
    if ((now ? wireText(now) : now) !== seen) return false;
    this.jobs.set(id, content);
    return true;
  }
  async entry(id: string) {
    return this.memory.get(id);
  }
  async remember(entry: SyncEntry) {
    this.memory.set(entry.id, entry);
  }
  async entries() {
    return [...this.memory.values()];
  }
  async cursor() {
    return this.place;
  }
  async rememberCursor(cursor: string) {
    this.place = cursor;
  }
  async log(sha256: string) {
    return this.logs.get(sha256) ?? null;
  }
  async keepLog(sha256: string, bytes: ArrayBuffer) {
    this.logs.set(sha256, bytes);
  }

  edit(id: string, change: (content: JobContent) => JobContent): void {
    const now = this.jobs.get(id);
    if (now) this.jobs.set(id, change(structuredClone(now)));
  }
  conflicts(): string[] {
    return [...this.memory.values()].filter(({ theirs }) => theirs !== null).map(({ id }) => id);
  }
  shown(): Record<string, string> {
    const kept = [...this.jobs].filter(([, content]) => content !== null);
    return Object.fromEntries(kept.map(([id, content]) => [id, wireText(content!)] as const).sort());
  }
}

const asking =
  (app: KeptApp) =>
  (path: string, init: RequestInit = {}) =>
    app.ask(init.method ?? "GET", path, { body: init.body as string, headers: init.headers as Record<string, string> });

/** @param trouble share of requests that go wrong, each in one of three ways */
function badNetwork(app: KeptApp, seed: number, trouble: number) {
  const chance = chanceOf(seed);
  const ask = asking(app);
  return async (path: string, init: RequestInit = {}) => {
    if (!chance.yes(trouble)) return ask(path, init);
    const kind = chance.pick(["request lost", "answer lost", "twice"]);
    if (kind === "request lost") throw new Error(kind);
    const answer = await ask(path, init);
    if (kind === "answer lost") throw new Error(kind);
    await answer.arrayBuffer();
    return ask(path, init);
  };
}

const memoryDisk = existsSync("/dev/shm") ? "/dev/shm" : undefined;

describe("two devices", () => {
  type Step =
    | { kind: "create" | "sync"; device: 0 | 1 }
    | { kind: "note" | "own field" | "log" | "delete" | "mine" | "theirs"; device: 0 | 1; job: number };
  // mostly notes, which meet; a deletion ends a job's story
  const editKinds = [
    "note",
    "note",
    "note",
    "note",
    "own field",
    "own field",
    "log",
    "delete",
    "mine",
    "theirs",
    "theirs",
  ] as const;
  /** how often it came to what the property is about */
  const seen = { conflicts: 0, mine: 0, theirs: 0 };
  const device = fc.constantFrom(0 as const, 1 as const);
  const step: fc.Arbitrary<Step> = fc.oneof(
    { weight: 1, arbitrary: fc.record({ kind: fc.constant("create" as const), device }) },
    { weight: 8, arbitrary: fc.record({ kind: fc.constant("sync" as const), device }) },
    {
      weight: 9,
      arbitrary: fc.record({
        kind: fc.constantFrom(...editKinds),
        device,
        job: fc.nat(1),
      }),
    },
  );

  async function play(steps: readonly Step[], seed: number): Promise<void> {
    const app = await keptApp({}, undefined, memoryDisk);
    try {
      const devices = [new Device(), new Device()] as const;
      const rough = syncServer(badNetwork(app, seed, 0.04));
      const calm = syncServer(asking(app));
      const ids: string[] = [];
      /** marks that were written, and on which job */
      const marks = new Map<string, string>();
      ids.push(await sharedJob(devices, calm));
      for (const [index, { kind, device: which, ...rest }] of steps.entries()) {
        const here = devices[which];
        const mark = `mark-${index}.`;
        const id = ids["job" in rest ? rest.job % Math.max(1, ids.length) : 0];
        if (kind === "sync") await syncOnce(here, rough).catch(onlyUnreachable);
        else if (kind === "create") {
          const fresh = randomUUID();
          ids.push(fresh);
          here.jobs.set(fresh, { document: declaredJob({ title: mark }), files: {} });
          marks.set(mark, fresh);
        } else if (id === undefined || !here.jobs.get(id)) {
          // nothing to change here
        } else if (kind === "mine" || kind === "theirs") {
          if (here.conflicts().includes(id)) seen[kind]++;
          await resolveConflict(here, rough, id, kind).catch(onlyUnreachable);
        } else if (kind === "delete") {
          // what was written since the last sync goes with the job: the person's own choice
          const now = wireText(here.jobs.get(id)!);
          for (const [written, job] of marks) {
            if (job === id && now.includes(written) && !here.memory.get(id)?.base?.includes(written))
              marks.delete(written);
          }
          here.jobs.set(id, null);
        } else {
          here.edit(id, (content) => edited(content, kind, which, mark, here));
          marks.set(mark, id);
        }
      }
      seen.conflicts += devices.flatMap((here) => here.conflicts()).length;
      await settle(devices, calm);
      expect(devices[0].shown()).toEqual(devices[1].shown());
      for (const here of devices) expect(here.conflicts()).toEqual([]);
      for (const [mark, id] of marks) {
        const revisions = await app.services.jobs.revisions("own", id);
        const texts = await Promise.all(
          revisions.map(({ revision }) => app.services.jobs.findRevision("own", id, revision)),
        );
        expect(
          texts.some((kept) => kept?.text.includes(mark)),
          `${mark} of ${id}`,
        ).toBe(true);
      }
      const kept = Object.entries(devices[0].shown());
      expect(await app.services.jobs.list("own", 200)).toHaveLength(kept.length);
      for (const [id, text] of kept) {
        expect(wireText(contentOf((await app.services.jobs.find("own", id))!.text))).toBe(text);
        for (const here of devices) {
          for (const { sha256 } of Object.values(here.jobs.get(id)!.files)) expect(here.logs.has(sha256)).toBe(true);
          expect(stateOf(here.memory.get(id), text)).toBe("sent");
        }
      }
    } finally {
      await app.end();
    }
  }

  async function sharedJob([one, two]: readonly [Device, Device], server: ReturnType<typeof syncServer>) {
    const id = randomUUID();
    one.jobs.set(id, { document: declaredJob({ title: "shared" }), files: {} });
    await syncOnce(one, server);
    await syncOnce(two, server);
    return id;
  }

  function edited(
    { document, files }: JobContent,
    kind: string,
    which: number,
    mark: string,
    here: Device,
  ): JobContent {
    if (kind === "note") return { document: { ...document, notes: `${document.notes ?? ""}${mark}` }, files };
    if (kind === "own field") {
      const name = `x-device-${which}`;
      const before = (document as Record<string, unknown>)[name] ?? "";
      return { document: { ...document, [name]: `${before}${mark}` }, files };
    }
    const bytes = new TextEncoder().encode(mark);
    here.logs.set(sha256Of(bytes), bytes.buffer as ArrayBuffer);
    const notes = `${document.notes ?? ""}${mark}`;
    return {
      document: { ...document, notes },
      files: { ...files, [`${mark}csv`]: { sha256: sha256Of(bytes), bytes: bytes.length } },
    };
  }

  /** Both sync over a good network and settle what is left in conflict, until nothing moves. */
  async function settle(devices: readonly [Device, Device], server: ReturnType<typeof syncServer>): Promise<void> {
    for (let turn = 0; turn < 4; turn++) {
      for (const here of devices) {
        await syncOnce(here, server);
        for (const id of here.conflicts()) await resolveConflict(here, server, id, turn % 2 ? "theirs" : "mine");
        await syncOnce(here, server);
      }
    }
  }

  const onlyUnreachable = (error: unknown) => {
    if (!(error instanceof Unreachable)) throw error;
  };

  it("are equal once both have synced, and every edit is in a revision", async () => {
    await fc.assert(fc.asyncProperty(fc.array(step, { minLength: 20, maxLength: 60, size: "max" }), fc.nat(), play), {
      numRuns: Number(process.env.SYNC_RUNS ?? 40),
      seed: 11,
      endOnFailure: false,
    });
    console.log("seen on the way:", seen);
    expect(Math.min(...Object.values(seen))).toBeGreaterThan(3);
  });
});

describe("a device", () => {
  let app: KeptApp;
  beforeAll(async () => {
    app = await keptApp({}, undefined, memoryDisk);
  });
  afterAll(() => app.end());

  it("is shown a conflict and goes on working, then keeps what the person chose", async () => {
    const server = syncServer(asking(app));
    const [one, two] = [new Device(), new Device()];
    const id = randomUUID();
    one.jobs.set(id, { document: declaredJob({ title: "base" }), files: {} });
    await syncOnce(one, server);
    await syncOnce(two, server);
    expect(two.jobs.get(id)?.document.title).toBe("base");
    one.edit(id, (content) => ({ ...content, document: { ...content.document, title: "one's" } }));
    two.edit(id, (content) => ({ ...content, document: { ...content.document, title: "two's" } }));
    await syncOnce(one, server);
    await syncOnce(two, server);
    expect(stateOf(two.memory.get(id), "")).toBe("conflict");
    expect(two.jobs.get(id)?.document.title).toBe("two's");
    expect(contentOf(two.memory.get(id)!.theirs!.text!).document.title).toBe("one's");
    two.edit(id, (content) => ({ ...content, document: { ...content.document, notes: "still at work" } }));
    await resolveConflict(two, server, id, "mine");
    await syncOnce(two, server);
    await syncOnce(one, server);
    expect(one.jobs.get(id)?.document).toMatchObject({ title: "two's", notes: "still at work" });
  });

  it("says why the server does not take a job, and sends it when it is mended", async () => {
    const server = syncServer(asking(app));
    const here = new Device();
    const id = randomUUID();
    here.jobs.set(id, { document: { ...declaredJob(), loop: [] }, files: {} });
    await syncOnce(here, server);
    expect(here.memory.get(id)?.trouble).toMatch(/loop/);
    here.jobs.set(id, { document: declaredJob(), files: {} });
    await syncOnce(here, server);
    expect(here.memory.get(id)).toMatchObject({ trouble: null, revision: expect.any(Number) });
  });

  it("gives a server that was restored from before what it has newer", async () => {
    const other = await keptApp({}, undefined, memoryDisk);
    const here = new Device();
    const id = randomUUID();
    here.jobs.set(id, { document: declaredJob({ title: "newer" }), files: {} });
    await syncOnce(here, syncServer(asking(app)));
    await syncOnce(here, syncServer(asking(other)));
    expect(await other.services.jobs.find("own", id)).not.toBeNull();
    await other.end();
  });
});
