/**
 * `report FOLDER_OR_ZIP --out record.pdf`: the customer's record of a job, as a PDF with the job inside or as a page of HTML;
 * with --out job.zip the job folder itself. On request signed with the shop's key, or without the customer's name and place.
 */
import { createHash } from "node:crypto";
import { renameSync, rmSync, writeFileSync } from "node:fs";
import { extname, join } from "node:path";
import { parseArgs } from "node:util";
import {
  filesOfJob,
  jobZip,
  joined,
  makeRecordHtml,
  makeRecordPdf,
  makeSignedRecordPdf,
  Problem,
  papers,
  photosOfJob,
  type RecordChoice,
  recordUnits,
  type Sha256,
  stampOf,
  withoutCustomer,
} from "../analysis/index.ts";
import packageJson from "../package.json" with { type: "json" };
import { dataFolder } from "./data-folder.ts";
import { type JobFolder, openJobFolderOrRecord } from "./job-folder.ts";
import { shopKey, sign } from "./shop-key.ts";

export const reportUsage =
  "npm run --silent diagnose -- report FOLDER_OR_ZIP --out RECORD.pdf [--paper a4|letter] [--units metric|imperial] [--short] [--date YYYY-MM-DD] [--sign] [--without-customer]";

export const sha256: Sha256 = async (bytes) => createHash("sha256").update(bytes).digest("hex");

export const { version: recordVersion } = packageJson;

export interface ReportRequest {
  readonly folder: string;
  readonly out: string;
  readonly choice: RecordChoice;
  readonly sign: boolean;
  readonly withoutCustomer: boolean;
}

/**
 * What the words after `report` ask for.
 * @param today as '2026-11-25'; stands on the record where no --date is given
 * @throws {Error} with what is wrong with them, in a few words
 */
export function reportRequest(words: readonly string[], today: string): ReportRequest {
  const { values, positionals } = parseArgs({
    args: [...words],
    allowPositionals: true,
    options: {
      out: { type: "string" },
      paper: { type: "string", default: "a4" },
      units: { type: "string", default: "metric" },
      date: { type: "string", default: today },
      short: { type: "boolean", default: false },
      sign: { type: "boolean", default: false },
      "without-customer": { type: "boolean", default: false },
    },
  });
  const [folder] = positionals;
  if (folder === undefined || positionals.length > 1) throw new Error("there should be one job folder to report on");
  if (values.out === undefined || !/\.(pdf|html?|zip)$/i.test(values.out)) {
    throw new Error("--out should name a file that ends in .pdf, .html or .zip");
  }
  if (values.sign && !/\.pdf$/i.test(values.out)) throw new Error("--sign is for a record whose --out ends in .pdf");
  if (!/^\d{4}-\d{2}-\d{2}$/.test(values.date)) throw new Error("--date should be a day as 2026-11-25");
  return {
    folder,
    out: values.out,
    sign: values.sign,
    withoutCustomer: values["without-customer"],
    choice: {
      programVersion: recordVersion,
      madeOn: values.date,
      paper: oneOf(papers, values.paper, "--paper"),
      units: oneOf(recordUnits, values.units, "--units"),
      form: values.short ? "short" : "full",
    },
  };
}

function oneOf<Choice extends string>(choices: readonly Choice[], given: string, option: string): Choice {
  const found = choices.find((choice) => choice === given);
  if (found === undefined) throw new Error(`${option} should be ${choices.join(" or ")}`);
  return found;
}

/** Where the shop's key is kept on this machine. */
export const shopKeyFile = (): string => join(dataFolder(process.env), "shop-key.json");

/**
 * @returns what was left out of it, in words, where it was made without the customer
 * @throws {Problem} where the job cannot be read, or the record not be written
 */
export async function report(request: ReportRequest): Promise<readonly string[]> {
  const { out, choice } = request;
  const whole = filesIn(await openJobFolderOrRecord(request.folder));
  const { files, leftOut } = request.withoutCustomer ? withoutCustomer(whole) : { files: whole, leftOut: [] };
  writeWhole(out, await contentOf(extname(out).toLowerCase(), files, choice, request.sign));
  return leftOut;
}

async function contentOf(
  ending: string,
  files: ReadonlyMap<string, Uint8Array>,
  choice: RecordChoice,
  signed: boolean,
): Promise<Uint8Array | string> {
  if (ending === ".zip") return jobZip(files);
  if (signed) return makeSignedRecordPdf(files, choice, sha256, shopKey(shopKeyFile()), sign);
  const stamp = await stampOf(files, choice, sha256);
  return ending === ".pdf" ? makeRecordPdf(files, stamp, sha256) : makeRecordHtml(files, stamp, sha256);
}

/** A log that is missing was refused already; a photo that is missing is said to be on the record itself. */
function filesIn(folder: JobFolder): Map<string, Uint8Array> {
  const photos = new Set(photosOfJob(folder.job));
  const files = new Map<string, Uint8Array>();
  for (const name of filesOfJob(folder.job)) {
    if (photos.has(name) && !folder.has(name)) continue;
    files.set(name, joined([...folder.readLog(name)]));
  }
  return files;
}

/** Written beside its place and moved there, so that a record is whole or not there at all. */
function writeWhole(out: string, content: Uint8Array | string): void {
  const beside = `${out}.partial`;
  try {
    writeFileSync(beside, content);
    renameSync(beside, out);
  } catch (error) {
    throw new Problem(
      `the record should go where files can be written; the system says ${(error as NodeJS.ErrnoException).code}`,
      {
        file: out,
      },
    );
  } finally {
    rmSync(beside, { force: true });
  }
}
