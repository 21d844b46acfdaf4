// One switch leaves the customer's name and place out: they are in no byte of the folder, the record, the page, or anything
// packed inside them, and the shared job is still a job that gives the same diagnosis. Source: the switch's own promise
// (analysis/document/without-customer.ts).
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { unzipSync } from "fflate";
import { decodePDFRawStream, PDFDocument, PDFRawStream } from "pdf-lib";
import { afterAll, describe, expect, test } from "vitest";
import { checkRecord, diagnoseFiles, parseJob, withoutCustomer } from "../../analysis/index.ts";
import { recordVersion, report, reportRequest, sha256 } from "../../api/report.ts";
import { fits } from "../../api/shop-key.ts";
import { placeWords } from "../fixtures/photos.ts";
import { tellingJob, tellingNames } from "../fixtures/proven-job.ts";

const temporary = mkdtempSync(join(tmpdir(), "shared-"));
afterAll(() => rmSync(temporary, { recursive: true, force: true }));
const folder = join(temporary, "job");
mkdirSync(folder);
for (const [name, bytes] of tellingJob()) writeFileSync(join(folder, name), bytes);

/** Every byte of a file, packed or not: streams of a PDF unpacked, files of a zip, and names of both. */
async function everyByte(bytes: Uint8Array): Promise<Buffer[]> {
  const own = Buffer.from(bytes);
  if (own.subarray(0, 2).toString() === "PK") {
    const inner = Object.entries(unzipSync(bytes)).map(async ([name, file]) => [
      Buffer.from(name),
      ...(await everyByte(file)),
    ]);
    return [own, ...(await Promise.all(inner)).flat()];
  }
  if (own.subarray(0, 5).toString() !== "%PDF-") return [own];
  const pdf = await PDFDocument.load(bytes, { updateMetadata: false });
  const objects = pdf.context.enumerateIndirectObjects().map(([, object]) => object);
  const streams = objects.filter((object) => object instanceof PDFRawStream);
  const unpacked = streams.map((stream) => {
    try {
      return decodePDFRawStream(stream).decode();
    } catch {
      return stream.getContents(); // a photo's own coding
    }
  });
  // Texts shown in hexadecimal are read as the letters they stand for.
  const shown = unpacked.map((stream) =>
    Buffer.from(stream)
      .toString("latin1")
      .replace(/<([0-9A-Fa-f]+)>/g, (_, hex: string) => Buffer.from(hex, "hex").toString("latin1"))
      .replaceAll(/ Tj|\n/g, ""),
  );
  const values = objects
    .map(String)
    .map((text) =>
      text.replace(/<FEFF([0-9A-F]+)>/gi, (_, hex: string) => Buffer.from(hex, "hex").swap16().toString("utf16le")),
    );
  const inside = await Promise.all(unpacked.map((stream) => everyByte(stream)));
  return [own, ...shown.map((text) => Buffer.from(text, "latin1")), Buffer.from(values.join("\n")), ...inside.flat()];
}

/** Telling words found in the bytes, in either case, in UTF-8, Latin-1 and UTF-16. */
async function found(bytes: Uint8Array): Promise<string[]> {
  const all = (await everyByte(bytes)).map((piece) => piece.toString("latin1").toLowerCase());
  const words = [...tellingNames, "mill lane", "555 0142", placeWords];
  return words.filter((word) =>
    (["utf8", "latin1", "utf16le"] as const).some((encoding) => {
      const needle = Buffer.from(word, encoding).toString("latin1").toLowerCase();
      const swapped = Buffer.from(word, "utf16le").swap16().toString("latin1").toLowerCase();
      return all.some((piece) => piece.includes(needle) || piece.includes(swapped));
    }),
  );
}

describe.each(["zip", "pdf", "html"])("as %s", (ending) => {
  const out = join(temporary, `out.${ending}`);

  test("every telling word is there without the switch, and none with it", async () => {
    await report(reportRequest([folder, "--out", out], "2026-11-25"));
    const open = await found(readFileSync(out));
    if (ending === "html") expect(open).toContain("Quillfeather");
    else expect(open).toEqual([...tellingNames, "mill lane", "555 0142", placeWords]);
    const leftOut = await report(reportRequest([folder, "--out", out, "--without-customer"], "2026-11-25"));
    expect(await found(readFileSync(out))).toEqual([]);
    expect(leftOut).toEqual(
      expect.arrayContaining([
        "the customer",
        "the vehicle",
        "its number",
        "the notes",
        "the title",
        "signatures",
        expect.stringContaining("plan.webp"),
        expect.stringContaining("inside after-recorder.csv"),
        expect.stringContaining("inside wide.csv"),
      ]),
    );
  }, 180_000);
});

test("the record without the customer is verified like any other", async () => {
  const out = join(temporary, "checked.pdf");
  await report(reportRequest([folder, "--out", out, "--without-customer"], "2026-11-25"));
  const check = await checkRecord(readFileSync(out), out, recordVersion, { sha256, fits });
  expect(check.differences).toEqual([]);
});

test("the shared job gives the same figures", () => {
  const whole = tellingJob();
  const { files } = withoutCustomer(whole);
  const figures = (given: ReadonlyMap<string, Uint8Array>) =>
    diagnoseFiles("job", given).rounds.map(({ verdict, states, worstCase, parts }) => ({
      verdict,
      states,
      worstCase,
      ohms: parts.map(({ ohms }) => ohms),
    }));
  expect(figures(files)).toEqual(figures(whole));
  const { job, warnings } = parseJob(new TextDecoder().decode(files.get("job.json")));
  expect(warnings).toEqual([]);
  expect(job.technician).toBe("R. Tern");
  expect(job.title).toBe("12 V supply of marine VHF, 25 W");
  expect(job.recordings.map(({ file }) => file)).toContain("xxxxxxxxxxxx-clamp.csv");
});

test("a name that is a word of the trade breaks nothing", () => {
  const files = tellingJob();
  const job = JSON.parse(new TextDecoder().decode(files.get("job.json")));
  job.customer = "Copper Battery & Ground Co, Running Plug";
  files.set("job.json", new TextEncoder().encode(JSON.stringify(job)));
  const { job: shared } = parseJob(new TextDecoder().decode(withoutCustomer(files).files.get("job.json")));
  expect(shared.loop.length).toBe(job.loop.length);
});
