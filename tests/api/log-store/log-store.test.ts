/** Where logs are kept: one suite over files and over an S3-compatible object store. */
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { fileLogStore } from "../../../api/log-store/file-log-store.ts";
import { allBytes, DamagedLog, HashMismatch, type LogStore } from "../../../api/log-store/log-store.ts";
import { s3LogStore } from "../../../api/log-store/s3-log-store.ts";
import { sha256Of } from "../../fixtures/kept-app.ts";
import { type ObjectStore, startObjectStore } from "../../fixtures/object-store.ts";

let folder: string;
let objects: ObjectStore;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "log-store-"));
  objects = await startObjectStore("shop-logs");
  process.env.AWS_ACCESS_KEY_ID = "test";
  process.env.AWS_SECRET_ACCESS_KEY = "test";
});
afterAll(async () => {
  await objects.end();
  rmSync(folder, { recursive: true });
});

const stores: { name: string; open(): Promise<LogStore>; spool(): string }[] = [
  { name: "files", open: () => fileLogStore(join(folder, "files")), spool: () => join(folder, "files/incoming") },
  {
    name: "an object store",
    open: () =>
      s3LogStore({ endpoint: objects.endpoint, bucket: "shop-logs", region: "us-east-1" }, join(folder, "spool")),
    spool: () => join(folder, "spool"),
  },
];

async function* inPieces(text: string, piece = 1000): AsyncGenerator<Uint8Array> {
  for (let at = 0; at < text.length; at += piece) yield new TextEncoder().encode(text.slice(at, at + piece));
}

describe.each(stores)("logs in $name", ({ open, spool }) => {
  let store: LogStore;
  beforeAll(async () => {
    store = await open();
  });

  it("are kept under their hash, once, and given back byte for byte", async () => {
    for (const text of ["", "a", "0,12.61\n".repeat(200_000)]) {
      const sha256 = sha256Of(text);
      expect(await store.keep(sha256, inPieces(text, 65_000))).toBe(text.length);
      expect(await store.keep(sha256, inPieces(text, 70_000))).toBe(text.length);
      const log = (await store.read(sha256))!;
      expect(log.bytes).toBe(text.length);
      expect(new TextDecoder().decode(await allBytes(log))).toBe(text);
    }
    const all: string[] = [];
    for await (const sha256 of store.all()) all.push(sha256);
    expect(all.sort()).toEqual(["", "a", "0,12.61\n".repeat(200_000)].map(sha256Of).sort());
    await store.answers();
  });

  it("leave nothing behind where the bytes are others, or end early", async () => {
    const wanted = sha256Of("wanted");
    await expect(store.keep(wanted, inPieces("something else"))).rejects.toThrow(HashMismatch);
    async function* broken(): AsyncGenerator<Uint8Array> {
      yield new TextEncoder().encode("wan");
      throw new Error("the client went away");
    }
    await expect(store.keep(wanted, broken())).rejects.toThrow("the client went away");
    expect(await store.read(wanted)).toBeNull();
    expect(readdirSync(spool())).toEqual([]);
  });
});

describe("an object store in trouble", () => {
  it("is asked again when it is busy, and never believed when it gives other bytes", async () => {
    const store = await stores[1]!.open();
    const sha256 = sha256Of("patience");
    objects.failing = { status: 503, times: 2 };
    expect(await store.keep(sha256, inPieces("patience"))).toBe(8);
    objects.objects.set(`logs/${sha256}`, Buffer.from("impostor"));
    await expect(allBytes((await store.read(sha256))!)).rejects.toThrow(DamagedLog);
  });
});
