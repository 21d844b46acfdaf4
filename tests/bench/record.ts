/**
 * Time and size of the customer's record: `npx tsx tests/bench/record.ts [SAMPLE …]`.
 * Held against: at most 1.5 s and 400 KiB without logs. The diagnosis is measured apart, since it is most of the time.
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { diagnoseFiles, filesOfJob, makeRecordPdf, parseJob, stampOf } from "../../analysis/index.ts";
import { recordVersion, sha256 } from "../../api/report.ts";

const samples = join(import.meta.dirname, "../../sample-logs");
const asked = process.argv.slice(2);
const names = asked.length > 0 ? asked : readdirSync(samples).filter((name) => !name.includes("."));
const choice = {
  programVersion: recordVersion,
  madeOn: "2026-11-25",
  paper: "a4",
  units: "metric",
  form: "full",
} as const;

for (const name of names) {
  const read = (file: string) => new Uint8Array(readFileSync(join(samples, name, file)));
  const { job } = parseJob(readFileSync(join(samples, name, "job.json"), "utf8"));
  const files = new Map(filesOfJob(job).map((file) => [file, read(file)]));
  const start = performance.now();
  diagnoseFiles(name, files);
  const diagnosed = performance.now();
  const pdf = await makeRecordPdf(files, await stampOf(files, choice, sha256), sha256);
  const made = performance.now();
  const drawn = made - diagnosed - (diagnosed - start);
  console.log(
    `${name}: ${Math.round(made - diagnosed)} ms in all, about ${Math.max(0, Math.round(drawn))} ms of it without the diagnosis; ${Math.round(pdf.length / 1024)} KiB with its logs`,
  );
}
