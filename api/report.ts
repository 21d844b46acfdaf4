/**
 * `report FOLDER_OR_ZIP --out record.pdf`: the customer's record of a job, as a PDF with the job inside or as a page of HTML.
 */
import { createHash } from "node:crypto";
import { renameSync, rmSync, writeFileSync } from "node:fs";
import { extname } from "node:path";
import { parseArgs } from "node:util";
import {
  filesOfJob,
  joined,
  makeRecordHtml,
  makeRecordPdf,
  Problem,
  papers,
  type RecordChoice,
  recordUnits,
  type Sha256,
  stampOf,
} from "../analysis/index.ts";
import packageJson from "../package.json" with { type: "json" };
import { openJobFolderOrRecord } from "./job-folder.ts";

export const reportUsage =
  "npm run --silent diagnose -- report FOLDER_OR_ZIP --out RECORD.pdf [--paper a4|letter] [--units metric|imperial] [--short] [--date YYYY-MM-DD]";

export const sha256: Sha256 = async (bytes) => createHash("sha256").update(bytes).digest("hex");

export const { version: recordVersion } = packageJson;

export interface ReportRequest {
  readonly folder: string;
  readonly out: string;
  readonly choice: RecordChoice;
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
    },
  });
  const [folder] = positionals;
  if (folder === undefined || positionals.length > 1) throw new Error("there should be one job folder to report on");
  if (values.out === undefined || !/\.(pdf|html?)$/i.test(values.out)) {
    throw new Error("--out should name a file that ends in .pdf or .html");
  }
  if (!/^\d{4}-\d{2}-\d{2}$/.test(values.date)) throw new Error("--date should be a day as 2026-11-25");
  return {
    folder,
    out: values.out,
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

/** @throws {Problem} where the job cannot be read, or the record not be written */
export async function report({ folder: path, out, choice }: ReportRequest): Promise<void> {
  const folder = await openJobFolderOrRecord(path);
  const files = new Map(filesOfJob(folder.job).map((name) => [name, joined([...folder.readLog(name)])]));
  const stamp = await stampOf(files, choice, sha256);
  const isPdf = extname(out).toLowerCase() === ".pdf";
  writeWhole(out, isPdf ? await makeRecordPdf(files, stamp) : makeRecordHtml(files, stamp));
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
