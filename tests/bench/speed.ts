/**
 * How long a diagnosis takes as a whole process, as a person starts it: `npm run bench:speed`.
 * `npm run bench:speed -- 10000 1000000` measures these numbers of rows only; without numbers 10 k, 1 M and 10 M.
 * Large logs are timed beside a plain papaparse of the same files, which only counts their rows.
 */
import { spawn, spawnSync } from "node:child_process";
import {
  closeSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
  writeSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const root = join(import.meta.dirname, "../..");

const loop = [
  { point: "battery+" },
  { part: "connection", id: "battery-lug", style: "ring-lug" },
  { part: "fuse", id: "main-fuse", style: "blade", ratingAmps: 20 },
  { part: "wire", id: "feed", awg: 10, metres: 4.5 },
  { part: "connection", id: "plug-positive", style: "plug" },
  { point: "load+" },
  { part: "load" },
  { point: "load-" },
  { part: "connection", id: "plug-negative", style: "plug" },
  { part: "wire", id: "ground-lead", awg: 10, metres: 0.6 },
  { part: "connection", id: "ground-stud", style: "ground-stud" },
  { part: "chassis", id: "body" },
  { part: "connection", id: "battery-strap", style: "strap" },
  { point: "battery-" },
];

/** Two files of a two-channel recorder: volts at battery and set, and volts of the ground side with amps (invented figures). */
const files = [
  {
    file: "ends.csv",
    header: "Time (s),Battery (V),Set (V)",
    idle: [12.62, 12.55],
    keyed: [12.28, 11.32],
    steps: [0.01, 0.01],
  },
  {
    file: "ground.csv",
    header: "Time (s),Ground side (V),Current (A)",
    idle: [0.035, 0.6],
    keyed: [0.655, 11.4],
    steps: [0.001, 0.1],
  },
] as const;
const places = [
  { quantity: "volts", from: "battery+", to: "battery-" },
  { quantity: "volts", from: "load+", to: "load-" },
  { quantity: "volts", from: "load-", to: "battery-" },
  { quantity: "amps", through: "feed" },
];

/** Counts of noise from −2 to 2, binomial, from the bits of a hash: no period that a log would not have. */
function noiseCounts(i: number, k: number): number {
  let bits = Math.imul(i + 1, 0x9e3779b1) ^ Math.imul(k + 1, 0x85ebca6b);
  bits = Math.imul(bits ^ (bits >>> 15), 0x2c1b3c6d);
  bits ^= bits >>> 12;
  return (bits & 1) + ((bits >> 1) & 1) + ((bits >> 2) & 1) + ((bits >> 3) & 1) - 2;
}

/** Every transmission lasts a fifth of the log or half a minute, whichever is shorter. */
function writeFolder(folder: string, rows: number): void {
  const perSecond = rows > 100_000 ? 100 : 10;
  const period = Math.min(Math.floor(rows / 5), 60 * perSecond);
  for (const { file, header, idle, keyed, steps } of files) {
    const out = openSync(join(folder, file), "w");
    let text = `${header}\n`;
    for (let i = 0; i < rows; i++) {
      const levels = i % period > period / 2 ? keyed : idle;
      const cells = levels.map((level, k) => (level + steps[k]! * noiseCounts(i, k)).toFixed(steps[k]! < 0.01 ? 3 : 2));
      text += `${(i / perSecond).toFixed(2)},${cells.join(",")}\n`;
      if (text.length > 1_000_000 || i === rows - 1) {
        writeSync(out, text);
        text = "";
      }
    }
    closeSync(out);
  }
  const recordings = places.map((place, k) => ({
    ...place,
    round: "before",
    file: files[k >> 1]!.file,
    column: 2 + (k % 2),
    engine: "off",
  }));
  const load = { idleAmps: 0.6, transmitAmps: 11.5, minimumVolts: 11 };
  writeFileSync(join(folder, "job.json"), JSON.stringify({ format: "job/1", title: "Speed", load, loop, recordings }));
}

const median = (values: readonly number[]) => values.toSorted((a, b) => a - b)[values.length >> 1]!;

function wholeProcess(words: readonly string[]): number {
  const start = performance.now();
  const { status, stdout, stderr } = spawnSync("npm", ["run", "--silent", "diagnose", "--", ...words], {
    cwd: root,
    encoding: "utf8",
    maxBuffer: 2 ** 30,
  });
  // With --json the sentence that says why is on standard output.
  if (status !== 0) throw new Error(`diagnose ${words.join(" ")} ended with ${status}: ${stderr}${stdout}`);
  return (performance.now() - start) / 1000;
}

const repeated = (times: number, work: () => number) => median(Array.from({ length: times }, work));

/** Peak memory of one diagnosis, as Linux counts it; null elsewhere. */
async function peakMebibytes(folder: string): Promise<number | null> {
  const child = spawn(process.execPath, ["api/run.mjs", "api/command-line.ts", "--json", folder], {
    cwd: root,
    stdio: "ignore",
  });
  const status = `/proc/${child.pid}/status`;
  let peak: number | null = null;
  const watch = setInterval(() => {
    const kibibytes = existsSync(status) ? /VmHWM:\s+(\d+)/.exec(readFileSync(status, "utf8"))?.[1] : undefined;
    if (kibibytes !== undefined) peak = Number(kibibytes) / 1024;
  }, 20);
  await new Promise((resolve) => child.on("exit", resolve));
  clearInterval(watch);
  return peak;
}

/** A process of its own, as the diagnosis is: start, read every row of both files, count them. */
const plainProgram = `
import Papa from "papaparse";
import { createReadStream } from "node:fs";
let rows = 0;
for (const file of process.argv.slice(1)) {
  await new Promise((resolve, reject) =>
    Papa.parse(createReadStream(file, { encoding: "utf8" }), { step: () => { rows++; }, complete: resolve, error: reject }));
}
console.log(rows);`;

function plainPapaparse(folder: string): number {
  const start = performance.now();
  const paths = files.map(({ file }) => join(folder, file));
  const { status, stderr } = spawnSync(process.execPath, ["--input-type=module", "--eval", plainProgram, ...paths], {
    cwd: root,
    encoding: "utf8",
  });
  if (status !== 0) throw new Error(`plain papaparse ended with ${status}: ${stderr}`);
  return (performance.now() - start) / 1000;
}

const seconds = (value: number) => `${value.toFixed(2)} s`;

async function measure(temporary: string, rows: number): Promise<number> {
  const folder = join(temporary, `${rows}`);
  mkdirSync(folder);
  writeFolder(folder, rows / files.length);
  const bytes = files.reduce((sum, { file }) => sum + statSync(join(folder, file)).size, 0);
  const times = rows > 3e6 ? 1 : rows > 100_000 ? 3 : 5;
  const whole = repeated(times, () => wholeProcess(["--json", folder]));
  const plain = repeated(times, () => plainPapaparse(folder));
  const peak = await peakMebibytes(folder);
  const asked: Record<number, string> = {
    10000: "asked: 0.8 s",
    1000000: "asked: ratio 0.6",
    10000000: "asked: ratio 0.4, 500 MiB",
  };
  console.log(
    `${rows / 1000} k rows in two files (${(bytes / 2 ** 20).toFixed(0)} MiB): ${seconds(whole)}, plain papaparse ${seconds(plain)}, ratio ${(whole / plain).toFixed(2)}, peak ${peak === null ? "not known" : `${peak.toFixed(0)} MiB`} (${asked[rows] ?? "nothing asked"})`,
  );
  rmSync(folder, { recursive: true, force: true });
  return whole;
}

const temporary = mkdtempSync(join(tmpdir(), "speed-"));
try {
  const startUp = repeated(5, () => wholeProcess(["--help"]));
  console.log(`start-up (npm, node, sources bundled, --help): ${seconds(startUp)}, median of five (asked: 0.5 s)`);
  const asked = process.argv.slice(2).map(Number);
  const taken = new Map<number, number>();
  for (const rows of asked.length > 0 ? asked : [10_000, 1_000_000, 10_000_000])
    taken.set(rows, await measure(temporary, rows));
  const [small, large] = [taken.get(1_000_000), taken.get(10_000_000)];
  if (small !== undefined && large !== undefined)
    console.log(`10 M rows take ${(large / small).toFixed(1)} times 1 M (asked: 11)`);
  console.log("two logs of 5,000 rows each are the 10 k rows above (asked: 1.2 s, median of five whole processes)");
} finally {
  rmSync(temporary, { recursive: true, force: true });
}
