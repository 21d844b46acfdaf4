/**
 * The job inside its record: put into the PDF as a zip with the stamp beside it, and taken out again.
 * Nothing in a PDF is believed: what comes out is a zip that `openZip` checks, and a stamp that is checked here.
 */
import { type Zippable, zipSync } from "fflate";
import type { PDFDocument } from "pdf-lib";
import * as v from "valibot";
import { openZip, type ZippedFolder } from "../job/zipped-folder.ts";
import { Problem } from "../problem.ts";
import { photoFacts } from "./photo.ts";
import { papers, type RecordStamp, recordUnits } from "./record-model.ts";

/** Names under which the two files stand in the PDF; any reader of PDFs can save them. */
export const carriedNames = { folder: "job-folder.zip", stamp: "record.json" } as const;

/** Largest record that is opened: its bytes stand in memory several times. */
const largestBytes = 512 * 2 ** 20;

const StampSchema = v.object({
  format: v.literal("record/1"),
  programVersion: v.pipe(v.string(), v.maxLength(100)),
  madeOn: v.pipe(v.string(), v.maxLength(100)),
  paper: v.picklist(papers),
  units: v.picklist(recordUnits),
  form: v.picklist(["full", "short"]),
  hashes: v.record(v.string(), v.string()),
  signedWith: v.optional(v.pipe(v.string(), v.regex(/^[\w-]{43}$/))),
});

export interface OpenedRecord {
  readonly stamp: RecordStamp;
  readonly folder: ZippedFolder;
  readonly pdf: PDFDocument;
}

/** A zip holds a time for each file; none is told, so that the same job gives the same bytes (1980 is a zip's earliest). */
const noTime = new Date(1980, 0, 1);

/** The job folder as a zip: the same files, the same bytes. */
export function jobZip(files: ReadonlyMap<string, Uint8Array>): Uint8Array {
  const content: Zippable = {};
  // Pictures are packed already.
  for (const [name, bytes] of files) content[name] = [bytes, { mtime: noTime, level: photoFacts(bytes) ? 0 : 6 }];
  return zipSync(content);
}

/** The stamp as it is carried. */
export const stampBytes = (stamp: RecordStamp): Uint8Array => new TextEncoder().encode(JSON.stringify(stamp, null, 2));

/**
 * Both files as they are, not packed again: the zip is packed, and packing photos twice takes longer than drawing them
 * (ISO 32000-1:2008, 7.11.4; clause number from memory).
 */
export async function putJobIn(
  pdf: PDFDocument,
  files: ReadonlyMap<string, Uint8Array>,
  stamp: RecordStamp,
): Promise<void> {
  const { PDFName, PDFString } = await import("pdf-lib");
  const { context, catalog } = pdf;
  const attached = ({ name, bytes, mime, description, relationship }: Attachment) => {
    const kind = { Type: "EmbeddedFile", Subtype: mime, Params: { Size: bytes.length } };
    const stream = context.register(context.stream(bytes, kind));
    const said = { F: PDFString.of(name), UF: PDFString.of(name), Desc: PDFString.of(description) };
    const spec = { Type: "Filespec", ...said, EF: { F: stream, UF: stream }, AFRelationship: relationship };
    return context.register(context.obj(spec));
  };
  // A name tree is in the order of its names.
  const [folder, record] = [
    attached({
      name: carriedNames.folder,
      bytes: jobZip(files),
      mime: "application/zip",
      description: "The job with every log: open it with Loopwalk",
      relationship: "Source",
    }),
    attached({
      name: carriedNames.stamp,
      bytes: stampBytes(stamp),
      mime: "application/json",
      description: "How this record was made, with the hash of every file",
      relationship: "Data",
    }),
  ];
  const names = [PDFString.of(carriedNames.folder), folder, PDFString.of(carriedNames.stamp), record];
  catalog.set(PDFName.of("Names"), context.obj({ EmbeddedFiles: { Names: names } }));
  catalog.set(PDFName.of("AF"), context.obj([folder, record]));
}

interface Attachment {
  readonly name: string;
  readonly bytes: Uint8Array;
  readonly mime: string;
  readonly description: string;
  readonly relationship: "Source" | "Data";
}

/** Whether bytes begin as a PDF does (ISO 32000-1, 7.5.2; readers allow some bytes before the mark). */
export function isPdf(bytes: Uint8Array): boolean {
  return String.fromCharCode(...bytes.subarray(0, 1024)).includes("%PDF-");
}

/**
 * @param file what an error calls the PDF
 * @throws {Problem} when it is no whole PDF, carries no job, or is of another version
 */
export async function openRecord(bytes: Uint8Array, file: string): Promise<OpenedRecord> {
  if (bytes.length > largestBytes) {
    throw new Problem(
      `should be at most ${largestBytes / 2 ** 20} MiB as a record; this one has ${bytes.length} bytes`,
      { file },
    );
  }
  if (!isPdf(bytes)) throw new Problem("should be a PDF made by this program; this file is no PDF", { file });
  const pdf = await loaded(bytes, file);
  const carried = await carriedFiles(pdf, file);
  const stamp = carried.get(carriedNames.stamp);
  const folder = carried.get(carriedNames.folder);
  if (!stamp || !folder) {
    throw new Problem("should be a record with its job inside; this PDF carries none", { file });
  }
  return { stamp: readStamp(stamp, file), folder: openZip(folder, file), pdf };
}

async function loaded(bytes: Uint8Array, file: string): Promise<PDFDocument> {
  const { EncryptedPDFError, PDFDocument } = await import("pdf-lib");
  try {
    const pdf = await PDFDocument.load(bytes, { updateMetadata: false, throwOnInvalidObject: true });
    pdf.getPageCount();
    return pdf;
  } catch (error) {
    if (error instanceof EncryptedPDFError || saysEncrypted(bytes))
      throw new Problem("should not be encrypted; this PDF is", { file });
    throw new Problem("should be a whole PDF; this one is cut short or damaged", { file });
  }
}

/** Packed objects of an encrypted PDF fail to unpack before its trailer is read, which says why (ISO 32000-1, 7.6.1). */
function saysEncrypted(bytes: Uint8Array): boolean {
  const word = new TextEncoder().encode("/Encrypt ");
  for (let at = bytes.indexOf(0x2f); at >= 0; at = bytes.indexOf(0x2f, at + 1)) {
    if (word.every((byte, index) => bytes[at + index] === byte)) return true;
  }
  return false;
}

/** The files of the name tree EmbeddedFiles (ISO 32000-1, 7.11.4 and 7.7.4), its own two names only. */
async function carriedFiles(pdf: PDFDocument, file: string): Promise<Map<string, Uint8Array>> {
  const { decodePDFRawStream, PDFArray, PDFDict, PDFHexString, PDFName, PDFRawStream, PDFString } = await import(
    "pdf-lib"
  );
  const found = new Map<string, Uint8Array>();
  try {
    const names = pdf.catalog.lookupMaybe(PDFName.of("Names"), PDFDict);
    const list = names?.lookupMaybe(PDFName.of("EmbeddedFiles"), PDFDict)?.lookupMaybe(PDFName.of("Names"), PDFArray);
    for (let at = 0; list && at + 1 < list.size(); at += 2) {
      const name = list.lookup(at, PDFString, PDFHexString).decodeText();
      if (!(Object.values(carriedNames) as string[]).includes(name)) continue;
      if (found.has(name)) throw new Problem(`should carry each file once; got '${name}' twice`, { file });
      const stream = list
        .lookup(at + 1, PDFDict)
        .lookup(PDFName.of("EF"), PDFDict)
        .lookup(PDFName.of("F"));
      if (stream instanceof PDFRawStream) found.set(name, decodePDFRawStream(stream).decode());
    }
  } catch (error) {
    if (error instanceof Problem) throw error;
    throw new Problem("should be a whole PDF; the files that it carries are damaged", { file });
  }
  return found;
}

function readStamp(bytes: Uint8Array, file: string): RecordStamp {
  let value: unknown;
  try {
    value = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(bytes));
  } catch {
    throw new Problem(`should carry a ${carriedNames.stamp} that is JSON; this one is damaged`, { file });
  }
  const format = typeof value === "object" && value !== null && "format" in value ? String(value.format) : "nothing";
  if (format !== "record/1") {
    throw new Problem(`should be 'record/1', the version that this program reads; got '${format.slice(0, 40)}'`, {
      file,
    });
  }
  const result = v.safeParse(StampSchema, value);
  if (!result.success) throw new Problem(`should carry a ${carriedNames.stamp} as this program writes it`, { file });
  return result.output;
}
