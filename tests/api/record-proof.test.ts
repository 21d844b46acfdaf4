// Photos on the record, the shop's signature under it, and names signed on the glass.
// Source: the record's own promise; RFC 8032 for Ed25519 by way of node:crypto; Debian's poppler-utils and qpdf where installed.
import { spawnSync } from "node:child_process";
import { createPrivateKey, sign as signWith } from "node:crypto";
import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { PDFDocument } from "pdf-lib";
import { afterAll, describe, expect, test } from "vitest";
import {
  checkRecord,
  makeRecordPdf,
  makeSignedRecordPdf,
  openRecord,
  parseJob,
  signedContent,
  stampOf,
  withoutSignature,
} from "../../analysis/index.ts";
import { recordVersion, sha256 } from "../../api/report.ts";
import { fits, keptKey, shopKey, sign } from "../../api/shop-key.ts";
import { provenJob } from "../fixtures/proven-job.ts";

const temporary = mkdtempSync(join(tmpdir(), "proof-"));
afterAll(() => rmSync(temporary, { recursive: true, force: true }));
const choice = {
  programVersion: recordVersion,
  madeOn: "2026-11-25",
  paper: "a4",
  units: "metric",
  form: "full",
} as const;
const means = { sha256, fits };
const has = (tool: string) => spawnSync(tool, ["--version"]).error === undefined;
const keyFile = join(temporary, "kept", "shop-key.json");

describe("the shop's key", () => {
  test("is made once, for its owner alone, and is the same the next time", () => {
    const first = join(temporary, "first", "shop-key.json");
    expect(keptKey(first)).toBe(null);
    const key = shopKey(first);
    expect(shopKey(first)).toEqual(key);
    expect(statSync(first).mode & 0o077).toBe(0);
  });

  test("a file that holds none is refused in a sentence, and left as it is", () => {
    const other = join(temporary, "other.json");
    writeFileSync(other, '{"kty":"OKP"}');
    expect(() => shopKey(other)).toThrow(/other\.json: should hold the shop's key as a JSON Web Key/);
    expect(readFileSync(other, "utf8")).toBe('{"kty":"OKP"}');
  });

  test("RFC 8032, 7.1, test 3: the same key signs the same two bytes the same", async () => {
    const x = Buffer.from("fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "hex");
    const d = Buffer.from("c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7", "hex");
    const key = { kty: "OKP", crv: "Ed25519", x: x.toString("base64url"), d: d.toString("base64url") } as const;
    const signature = await sign(key, new Uint8Array([0xaf, 0x82]));
    expect(Buffer.from(signature).toString("hex")).toBe(
      "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    );
    expect(await fits(key.x, signature, new Uint8Array([0xaf, 0x82]))).toBe(true);
    expect(await fits(key.x, signature, new Uint8Array([0xaf, 0x83]))).toBe(false);
  });
});

describe("a signed record", () => {
  const made = makeSignedRecordPdf(provenJob(), choice, sha256, shopKey(keyFile), sign);

  test("follows, fits, opens, and is a PDF to others; key and hash stand on the page", async () => {
    const record = await made;
    const key = shopKey(keyFile);
    const check = await checkRecord(record, "signed.pdf", recordVersion, means);
    expect(check).toMatchObject({ follows: true, differences: [], signature: { publicKey: key.x, fits: true } });
    expect((await openRecord(record, "signed.pdf")).stamp.signedWith).toBe(key.x);
    const path = join(temporary, "signed.pdf");
    writeFileSync(path, record);
    if (!has("pdftotext") || !has("qpdf"))
      return console.log("poppler-utils or qpdf is not installed: not read by others");
    expect(spawnSync("qpdf", ["--check", path]).status).toBe(0);
    const text = spawnSync("pdftotext", ["-layout", path, "-"], { encoding: "utf8" }).stdout.replace(/\s+/g, "");
    expect(text).toContain(key.x.slice(0, 20));
    expect(text).toContain(check.recordHash.slice(0, 40));
    expect(text).toContain("Photo2:whichendisup");
    const images = spawnSync("pdfimages", ["-list", path], { encoding: "utf8" }).stdout;
    expect(images.match(/jpeg/g)).toHaveLength(4);
  }, 180_000);

  test("one byte altered anywhere is told, its own last lines included", async () => {
    const record = await made;
    const places = Array.from({ length: 12 }, (_, index) => Math.floor((index * (record.length - 1)) / 12));
    const tail = Array.from({ length: 12 }, (_, index) => record.length - 1 - index * 15);
    for (const place of [...places, ...tail]) {
      const altered = record.slice();
      altered[place]! ^= 1;
      const { record: body, signature } = withoutSignature(altered);
      expect(signature !== null && (await fits(shopKey(keyFile).x, signature, body)), `byte ${place}`).toBe(false);
    }
    const altered = record.slice();
    altered[record.length >> 1]! ^= 1;
    const said = await checkRecord(altered, "altered.pdf", recordVersion, means).then(
      ({ differences }) => differences[0],
      (error: Error) => error.message,
    );
    expect(said).toMatch(/altered after it was signed|cut short or damaged/);
  }, 180_000);

  test("its signature taken off, or another's put on, is told", async () => {
    const record = await made;
    const { record: body } = withoutSignature(record);
    const bare = await checkRecord(body, "bare.pdf", recordVersion, means);
    expect(bare.differences).toEqual([expect.stringMatching(/is said to be signed .* missing or damaged$/)]);
    const other = shopKey(join(temporary, "other-key.json"));
    const forged = Buffer.from(record).toString("latin1");
    const signature = signWith(null, body, createPrivateKey({ key: { ...other }, format: "jwk" })).toString("hex");
    const put = Buffer.from(forged.replace(/(?<=%Loopwalk-Ed25519 )[0-9a-f]{128}/, signature), "latin1");
    const { differences } = await checkRecord(put, "put.pdf", recordVersion, means);
    expect(differences).toEqual([expect.stringMatching(/altered after it was signed/)]);
  }, 180_000);
});

test("a name signed on the glass is drawn, and told from one that signed something else", async () => {
  const files = provenJob(1);
  const signedFor = async (strokes: number[][], over: string | undefined) => {
    const job = JSON.parse(new TextDecoder().decode(files.get("job.json")));
    job.signatures = [{ by: "customer", name: "A. Heron", date: "2026-11-25", strokes, over }];
    files.set("job.json", new TextEncoder().encode(JSON.stringify(job)));
    const pdf = await makeRecordPdf(files, await stampOf(files, choice, sha256), sha256);
    const path = join(temporary, "glass.pdf");
    writeFileSync(path, pdf);
    return spawnSync("pdftotext", ["-layout", path, "-"], { encoding: "utf8" }).stdout;
  };
  if (!has("pdftotext")) return console.log("poppler-utils is not installed: nothing was read back");
  const { job } = parseJob(new TextDecoder().decode(files.get("job.json")));
  const { hashes } = await stampOf(files, choice, sha256);
  const over = await sha256(new TextEncoder().encode(signedContent(job, hashes)));
  const wave = Array.from({ length: 40 }, (_, x) => [40 + 12 * x, Math.round(100 + 60 * Math.sin(x / 2))]).flat();
  expect(await signedFor([wave], over)).toContain("Customer, A. Heron, 2026-11-25: signed what stands here");
  expect(await signedFor([wave, [5]], over)).toContain("signed what stands here");
  expect(await signedFor([], over)).toContain("signed what stands here");
  const { differences } = await checkRecord(
    readFileSync(join(temporary, "glass.pdf")),
    "glass.pdf",
    recordVersion,
    means,
  );
  expect(differences).toEqual([]);
  expect(await signedFor([wave], over.replace(/^./, "x"))).toContain("signed before the job was last changed");
}, 180_000);

test("photos that are missing, of another kind or damaged are said to be, and the record is made", async () => {
  const files = provenJob(3);
  files.delete("photo-1.jpg");
  files.set("photo-2.jpg", new TextEncoder().encode("RIFF, not a JPEG"));
  files.set("photo-3.jpg", files.get("photo-3.jpg")!.slice(0, 400));
  const pdf = await makeRecordPdf(files, await stampOf(files, choice, sha256), sha256);
  expect((await checkRecord(pdf, "photos.pdf", recordVersion, means)).differences).toEqual([]);
  expect((await PDFDocument.load(pdf)).getPageCount()).toBeGreaterThan(3);
  if (!has("pdftotext")) return;
  const path = join(temporary, "photos.pdf");
  writeFileSync(path, pdf);
  const text = spawnSync("pdftotext", ["-layout", path, "-"], { encoding: "utf8" }).stdout;
  expect(text).toContain("photo-1.jpg: the photo is not in the job folder.");
  expect(text).toContain("photo-2.jpg: carried inside");
  expect(text).toContain("photo-3.jpg: carried inside");
}, 180_000);
