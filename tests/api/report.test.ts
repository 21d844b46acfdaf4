// The customer's record on the command line: every sample job on paper and back, and what verify says of one that was altered.
// Source: the record's own promise (analysis/document/README.md); Debian's poppler-utils and qpdf as independent readers, where they are installed.
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { unzipSync, zipSync } from "fflate";
import {
  decodePDFRawStream,
  PDFArray,
  PDFDict,
  PDFDocument,
  PDFHexString,
  PDFName,
  type PDFRawStream,
  PDFString,
} from "pdf-lib";
import { afterAll, describe, expect, test } from "vitest";
import { checkRecord, filesOfJob, openRecord, parseJob } from "../../analysis/index.ts";
import { openJobFolderOrRecord } from "../../api/job-folder.ts";
import { recordVersion, report, reportRequest, sha256 } from "../../api/report.ts";
import { fits } from "../../api/shop-key.ts";

const samples = join(import.meta.dirname, "../../sample-logs");
const names = readdirSync(samples, { withFileTypes: true }).flatMap((entry) =>
  entry.isDirectory() ? [entry.name] : [],
);
const temporary = mkdtempSync(join(tmpdir(), "report-"));
afterAll(() => rmSync(temporary, { recursive: true, force: true }));

async function recordOf(sample: string, ...more: string[]): Promise<string> {
  const out = join(temporary, `${sample}${more.join("")}.pdf`);
  await report(reportRequest([join(samples, sample), "--out", out, ...more], "2026-11-25"));
  return out;
}

const has = (tool: string) => spawnSync(tool, ["--version"]).error === undefined;
const pages = (path: string) => spawnSync("pdftotext", ["-layout", path, "-"], { encoding: "utf8" }).stdout;

describe.each(names)("%s", (sample) => {
  test("record made, opened again byte for byte, verified", async () => {
    const path = await recordOf(sample);
    const bytes = readFileSync(path);
    const { folder } = await openRecord(bytes, path);
    const { job } = parseJob(readFileSync(join(samples, sample, "job.json"), "utf8"));
    expect(folder.names).toEqual(filesOfJob(job));
    for (const name of folder.names) {
      expect(Buffer.concat([...folder.read(name)!]).equals(readFileSync(join(samples, sample, name)))).toBe(true);
    }
    expect((await openJobFolderOrRecord(path)).job).toEqual(job);
    expect(await checkRecord(bytes, path, recordVersion, { sha256, fits })).toMatchObject({
      follows: true,
      differences: [],
    });
    const logs = folder.names.reduce((sum, name) => sum + folder.size(name)!, 0);
    expect(bytes.length - logs).toBeLessThan(400 * 1024);
    if (!has("pdftotext") || !has("qpdf")) {
      console.log("poppler-utils or qpdf is not installed: the record was read by this program alone");
      return;
    }
    expect(spawnSync("qpdf", ["--check", path]).status).toBe(0);
    expect(spawnSync("pdfinfo", [path], { encoding: "utf8" }).stdout).toMatch(/Tagged: +yes/);
    const detached = join(temporary, `${sample}-detached.zip`);
    spawnSync("pdfdetach", ["-savefile", "job-folder.zip", "-o", detached, path]);
    expect(Object.keys(unzipSync(readFileSync(detached)))).toEqual(filesOfJob(job));
    // Symbol's Ω is read as the ohm sign, which NFKC makes the letter.
    const text = pages(path).normalize("NFKC").replace(/\s+/g, " ");
    expect(text).toContain(job.title.slice(0, 30));
    expect(text).toContain("What this record rests on");
    expect(text).toMatch(/Page 1 of \d/);
    expect(text).toContain("Ω");
    expect(text).not.toContain("\ufffd");
  }, 60_000);
});

/** The files that a PDF carries, one of them changed, put back in its place. */
async function changed(path: string, name: string, change: (bytes: Uint8Array) => Uint8Array): Promise<Uint8Array> {
  const pdf = await PDFDocument.load(readFileSync(path), { updateMetadata: false });
  const list = pdf.catalog
    .lookup(PDFName.of("Names"), PDFDict)
    .lookup(PDFName.of("EmbeddedFiles"), PDFDict)
    .lookup(PDFName.of("Names"), PDFArray);
  for (let at = 0; at < list.size(); at += 2) {
    if (list.lookup(at, PDFString, PDFHexString).decodeText() !== name) continue;
    const entry = list.lookup(at + 1, PDFDict).lookup(PDFName.of("EF"), PDFDict);
    const old = decodePDFRawStream(entry.lookup(PDFName.of("F")) as PDFRawStream).decode();
    entry.set(PDFName.of("F"), pdf.context.register(pdf.context.flateStream(change(old), { Type: "EmbeddedFile" })));
  }
  return pdf.save();
}

/** One file inside the carried zip changed. */
const inFolder = (file: string, change: (text: string) => string) => (zip: Uint8Array) => {
  const files = unzipSync(zip);
  const before = new TextDecoder().decode(files[file]);
  const after = change(before);
  expect(after).not.toBe(before);
  return zipSync({ ...files, [file]: new TextEncoder().encode(after) });
};

const verdictOn = (bytes: Uint8Array) => checkRecord(bytes, "record.pdf", recordVersion, { sha256, fits });

describe("altered", () => {
  const sample = "orchard-sprayer-ground-stud";

  test("one digit in a log: the log is named", async () => {
    const path = await recordOf(sample);
    const bytes = await changed(
      path,
      "job-folder.zip",
      inFolder("load.csv", (text) => text.replace(/\d(?=\D*$)/, (digit) => String((Number(digit) + 1) % 10))),
    );
    const { follows, differences } = await verdictOn(bytes);
    expect(follows).toBe(false);
    expect(differences[0]).toMatch(/^load\.csv: was changed after the record was made/);
  });

  test("one digit in a typed reading: job.json and the printed line are named", async () => {
    const path = await recordOf("beach-tractor-typed");
    const bytes = await changed(
      path,
      "job-folder.zip",
      inFolder("job.json", (text) =>
        text.replace(/"volts": 12\.(\d)/, (_, digit: string) => `"volts": 12.${(Number(digit) + 1) % 10}`),
      ),
    );
    const { differences } = await verdictOn(bytes);
    expect(differences[0]).toMatch(/^job\.json: was changed/);
    expect(differences.join("\n")).toMatch(
      /page \d+: '12\.\d+ V ± .*' is printed; '12\.\d+ V ± .*' follows from the logs/,
    );
  });

  test("one digit of the printed text: the line is named, with what follows from the logs", async () => {
    const path = await recordOf(sample);
    const pdf = await PDFDocument.load(readFileSync(path), { updateMetadata: false });
    const page = pdf.getPage(0);
    const contents = page.node.Contents();
    const ref = contents instanceof PDFArray ? contents.get(0) : page.node.get(PDFName.of("Contents"))!;
    const stream = pdf.context.lookup(ref) as PDFRawStream;
    const text = Buffer.from(decodePDFRawStream(stream).decode()).toString("latin1");
    const hex = (words: string) => Buffer.from(words, "latin1").toString("hex").toUpperCase();
    const forged = text.replace(hex("12\u00a0V supply"), hex("13\u00a0V supply"));
    expect(forged).not.toBe(text);
    pdf.context.assign(ref as never, pdf.context.flateStream(Buffer.from(forged, "latin1")));
    const { follows, differences } = await verdictOn(await pdf.save());
    expect(follows).toBe(false);
    expect(differences).toEqual([
      "page 1: 'Record of a 13 V supply' is printed; 'Record of a 12 V supply' follows from the logs",
    ]);
  });

  test("a note laid over the page, which changes no text of it", async () => {
    const path = await recordOf(sample);
    const pdf = await PDFDocument.load(readFileSync(path), { updateMetadata: false });
    pdf.getPage(0).node.set(PDFName.of("Annots"), pdf.context.obj([{ Type: "Annot", Subtype: "FreeText" }]));
    const { follows, differences } = await verdictOn(await pdf.save());
    expect(follows).toBe(false);
    expect(differences).toHaveLength(1);
  });

  test("a hash in the stamp", async () => {
    const path = await recordOf(sample);
    const bytes = await changed(path, "record.json", (stamp) =>
      new TextEncoder().encode(new TextDecoder().decode(stamp).replace(/"load.csv": "./, '"load.csv": "x')),
    );
    expect((await verdictOn(bytes)).differences[0]).toMatch(/^load\.csv: was changed/);
  });
});

describe("bad input: one sentence each", () => {
  const sample = "orchard-sprayer-ground-stud";
  const refusal = async (bytes: Uint8Array) => {
    const error = await openRecord(bytes, "record.pdf").then(
      () => null,
      (reason: Error) => reason,
    );
    expect(error?.name).toBe("Problem");
    return error!.message;
  };

  test("nothing inside, another program's, damaged, cut short, no PDF", async () => {
    const plain = await PDFDocument.create();
    plain.addPage();
    expect(await refusal(await plain.save())).toBe(
      "record.pdf: should be a record with its job inside; this PDF carries none",
    );
    await plain.attach(new Uint8Array([1]), "invoice.xml");
    expect(await refusal(await plain.save())).toMatch(/carries none$/);
    const bytes = readFileSync(await recordOf(sample));
    expect(await refusal(bytes.subarray(0, bytes.length / 2))).toMatch(/should be/);
    expect(await refusal(new TextEncoder().encode("%PDF-1.7\nnothing"))).toMatch(/cut short or damaged$/);
    expect(await refusal(new Uint8Array(2000))).toMatch(/is no PDF$/);
    expect(await refusal(new Uint8Array())).toMatch(/is no PDF$/);
  });

  test("a newer version: both are named", async () => {
    const bytes = await changed(await recordOf(sample), "record.json", () =>
      new TextEncoder().encode('{"format":"record/2"}'),
    );
    expect(await refusal(bytes)).toMatch(/'record\/1'.*got 'record\/2'$/);
  });

  test("a path that climbs out", async () => {
    const bytes = await changed(await recordOf(sample), "job-folder.zip", (zip) =>
      zipSync({ ...unzipSync(zip), "../climbed.csv": new Uint8Array([1]) }),
    );
    expect(await refusal(bytes)).toMatch(/should hold only files inside the folder; got '\.\.\/climbed\.csv'$/);
  });

  test("a carried folder that is no zip", async () => {
    const bytes = await changed(await recordOf(sample), "job-folder.zip", () => new Uint8Array(40));
    expect(await refusal(bytes)).toMatch(/cut short or damaged$/);
  });

  test("encrypted by somebody", async () => {
    if (!has("qpdf")) return console.log("qpdf is not installed: no PDF was encrypted");
    const path = join(temporary, "encrypted.pdf");
    spawnSync("qpdf", ["--encrypt", "", "owner", "256", "--", await recordOf(sample), path]);
    expect(await refusal(readFileSync(path))).toBe("record.pdf: should not be encrypted; this PDF is");
  });

  test("cut short or altered anywhere: refused in a sentence, or opened", async () => {
    const bytes = readFileSync(await recordOf(sample));
    let seed = 7;
    const random = (below: number) => {
      seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
      return Math.floor((seed / 2 ** 32) * below);
    };
    const inputs = [
      ...Array.from({ length: 20 }, (_, part) => bytes.subarray(0, Math.floor((bytes.length * part) / 20))),
      ...Array.from({ length: 60 }, (_, index) => {
        const altered = Uint8Array.from(bytes);
        const place = index % 2 ? random(bytes.length) : bytes.length - 1 - random(2000);
        altered[place] = random(256);
        return altered;
      }),
    ];
    let opened = 0;
    for (const input of inputs) {
      const error = await openRecord(input, "record.pdf").then(
        () => null,
        (reason: Error) => reason,
      );
      if (error === null) opened++;
      else expect(`${error.name} ${error.message}`).toMatch(/^Problem record\.pdf: should /);
    }
    expect(opened).toBeGreaterThan(5);
    expect(opened).toBeLessThan(inputs.length - 20);
  }, 60_000);

  test("a PDF without a job is left as it is by the command, and no record is half written", async () => {
    const path = join(temporary, "no-record.pdf");
    writeFileSync(path, "%PDF-1.7\n");
    await expect(openJobFolderOrRecord(path)).rejects.toThrow(/cut short or damaged/);
    const out = join(temporary, "never.pdf");
    await expect(report(reportRequest([path, "--out", out], "2026-11-25"))).rejects.toThrow(/damaged/);
    expect(readdirSync(temporary)).not.toContain("never.pdf");
    expect(readdirSync(temporary)).not.toContain("never.pdf.partial");
  });
});

describe("what the words after report ask for", () => {
  test.each([
    [[], /one job folder/],
    [["a", "b", "--out", "x.pdf"], /one job folder/],
    [["a"], /--out should name/],
    [["a", "--out", "x.doc"], /--out should name/],
    [["a", "--out", "x.pdf", "--paper", "a3"], /--paper should be a4 or letter/],
    [["a", "--out", "x.pdf", "--units", "furlongs"], /--units should be metric or imperial/],
    [["a", "--out", "x.pdf", "--date", "yesterday"], /--date should be a day/],
  ] as const)("%j", (words, wrong) => {
    expect(() => reportRequest(words, "2026-11-25")).toThrow(wrong);
  });

  test("US Letter, feet, and one page for the invoice", async () => {
    const letter = await PDFDocument.load(
      readFileSync(await recordOf("hay-trailer-long-run", "--paper", "letter", "--units", "imperial")),
    );
    expect(letter.getPage(0).getSize()).toEqual({ width: 612, height: 792 });
    for (const name of names) {
      const short = await PDFDocument.load(readFileSync(await recordOf(name, "--short")));
      expect(short.getPageCount(), name).toBe(1);
    }
  }, 60_000);
});
