/**
 * Time and size of the customer's record: `npm run bench:record -- [SAMPLE …]`.
 * Held against: at most 1.5 s for two rounds and ten photos, and 400 KiB without photos and logs. Seconds are the processor's
 * own beside the clock's, since other work on the machine lengthens the latter alone; the median of five is printed.
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import {
  checkRecord,
  diagnoseFiles,
  filesOfJob,
  jobZip,
  makeRecordHtml,
  makeRecordPdf,
  parseJob,
  stampOf,
} from "../../analysis/index.ts";
import { recordVersion, sha256 } from "../../api/report.ts";
import { fits } from "../../api/shop-key.ts";
import { drawnPhoto } from "../fixtures/photos.ts";
import { provenJob } from "../fixtures/proven-job.ts";

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
const runs = 5;

type Files = ReadonlyMap<string, Uint8Array>;

function sampleFiles(name: string): Files {
  const read = (file: string) => new Uint8Array(readFileSync(join(samples, name, file)));
  const { job } = parseJob(readFileSync(join(samples, name, "job.json"), "utf8"));
  return new Map(filesOfJob(job).map((file) => [file, read(file)]));
}

/** Two rounds and ten photos as the app keeps them: 1600 by 1200, some 300 KiB each. */
function tenPhotos(): Files {
  const files = provenJob(10);
  for (const name of files.keys())
    if (name.endsWith(".jpg")) files.set(name, drawnPhoto({ width: 1600, height: 1200, grain: 24, orientation: 1 }));
  return files;
}

/** The same with every log repeated until it has so many rows, its clock going on. */
function longLogs(rows: number): Files {
  const files = new Map(tenPhotos());
  for (const [name, bytes] of files) {
    if (!name.endsWith(".csv")) continue;
    const lines = new TextDecoder().decode(bytes).trimEnd().split(/\r?\n/);
    const firstNumber = lines.findIndex((line) => /^[\d.]+[,;\t]/.test(line));
    if (firstNumber < 0) continue;
    const body = lines.slice(firstNumber);
    const moment = (line: string) => Number(/^[\d.]+/.exec(line)![0]);
    const span = moment(body.at(-1)!) - moment(body[0]!) + (moment(body[1]!) - moment(body[0]!));
    const long = Array.from({ length: rows }, (_, row) => {
      const line = body[row % body.length]!;
      return line.replace(/^[\d.]+/, (moment(line) + Math.floor(row / body.length) * span).toFixed(3));
    });
    files.set(name, new TextEncoder().encode([...lines.slice(0, firstNumber), ...long, ""].join("\n")));
  }
  return files;
}

interface Seconds {
  readonly clock: number;
  readonly processor: number;
}

async function timed(work: () => unknown): Promise<Seconds> {
  const [start, used] = [performance.now(), process.cpuUsage()];
  await work();
  const { user, system } = process.cpuUsage(used);
  return { clock: (performance.now() - start) / 1000, processor: (user + system) / 1e6 };
}

async function median(work: () => unknown): Promise<string> {
  const taken: Seconds[] = [];
  for (let run = 0; run < runs; run++) taken.push(await timed(work));
  const middle = (of: keyof Seconds) => taken.map((one) => one[of]).sort((a, b) => a - b)[runs >> 1]!;
  return `${middle("clock").toFixed(2)} s (processor ${middle("processor").toFixed(2)} s)`;
}

async function told(name: string, files: Files): Promise<void> {
  const make = async () => makeRecordPdf(files, await stampOf(files, choice, sha256), sha256);
  const first = await timed(make);
  const pdf = await make();
  const carried = [...files].reduce((sum, [file, { length }]) => sum + (file === "job.json" ? 0 : length), 0);
  const photos = [...files].reduce((sum, [file, { length }]) => sum + (/\.jpg$/.test(file) ? length : 0), 0);
  const logs = new Map([...files].filter(([file]) => file !== "job.json" && !/\.jpg$/.test(file)));
  const packedLogs = jobZip(logs).length;
  const html = await median(async () => makeRecordHtml(files, await stampOf(files, choice, sha256), sha256));
  console.log(
    [
      `${name}: ${await median(make)}, the first time ${first.clock.toFixed(2)} s (processor ${first.processor.toFixed(2)} s)`,
      `the diagnosis alone ${await median(() => diagnoseFiles(name, files))}`,
      `as a page ${html}`,
      `checked ${await median(() => checkRecord(pdf, name, recordVersion, { sha256, fits }))}`,
      `${Math.round(pdf.length / 1024)} KiB in all, ${Math.round(carried / 1024)} KiB of logs and photos before packing; ${Math.round((pdf.length - 2 * photos - packedLogs) / 1024)} KiB without them`,
    ].join("\n  "),
  );
}

await told("two rounds, ten photos", tenPhotos());
await told("the same with logs of 10,000 rows", longLogs(10_000));
for (const name of names) await told(name, sampleFiles(name));
