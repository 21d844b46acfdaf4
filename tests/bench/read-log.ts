/**
 * How fast a log is read, against a plain papaparse of the same file in the same run: processor time of the whole
 * process (other work on the machine does not count, help of other threads does), median of five.
 * Run it with `npx tsx tests/bench/read-log.ts` (all) or with row counts in thousands: `npx tsx tests/bench/read-log.ts 1000`.
 * Files are written to the system's temporary folder and deleted.
 */
import { closeSync, createReadStream, mkdtempSync, openSync, readSync, rmSync, statSync, writeSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Papa from "papaparse";
import { createLogReader } from "../../analysis/log/log-reader.ts";

const recordings = [
  { file: "log.csv", round: "before", quantity: "volts" as const, from: "load+", to: "load-" },
  { file: "log.csv", round: "before", quantity: "amps" as const, through: "feed" },
];

interface Dialect {
  readonly name: string;
  readonly header: string;
  readonly row: (i: number) => string;
}

const volts = (i: number): string => (((i >> 9) & 3) === 2 ? 11.9 + (i % 7) / 100 : 12.6 + (i % 5) / 100).toFixed(2);
const amps = (i: number): string => (((i >> 9) & 3) === 2 ? 11.4 + (i % 3) / 10 : 0.6).toFixed(1);
const clock = (i: number): string => new Date(1_772_611_200_000 + i * 10).toISOString().slice(0, 23);

const dialects: readonly Dialect[] = [
  {
    name: "seconds, volts, amps",
    header: "Time (s),Voltage (V),Current (A)",
    row: (i) => `${(i / 100).toFixed(2)},${volts(i)},${amps(i)}`,
  },
  {
    name: "ISO stamps, volts, amps",
    header: "Time,Voltage (V),Current (A)",
    row: (i) => `${clock(i)},${volts(i)},${amps(i)}`,
  },
];

function writeLog(path: string, dialect: Dialect, rows: number): void {
  const file = openSync(path, "w");
  let text = `${dialect.header}\n`;
  for (let i = 0; i < rows; i++) {
    text += `${dialect.row(i)}\n`;
    if (text.length > 1_000_000) {
      writeSync(file, text);
      text = "";
    }
  }
  writeSync(file, text);
  closeSync(file);
}

async function readOurs(path: string): Promise<number> {
  const reader = createLogReader("log.csv", recordings, { bytesExpected: statSync(path).size });
  // The reader keeps nothing of a chunk, so one buffer serves for all of them.
  const chunk = new Uint8Array(262_144);
  const file = openSync(path, "r");
  for (let count = readSync(file, chunk); count > 0; count = readSync(file, chunk))
    reader.push(chunk.subarray(0, count));
  closeSync(file);
  return reader.finish()[0]!.samples.values.length;
}

function readPlain(path: string): Promise<number> {
  return new Promise((resolve, reject) => {
    let rows = 0;
    Papa.parse(createReadStream(path, { encoding: "utf8" }), {
      step: () => {
        rows++;
      },
      complete: () => resolve(rows - 1),
      error: reject,
    });
  });
}

async function time(work: () => Promise<number>): Promise<{ seconds: number; rows: number }> {
  const before = process.cpuUsage();
  const rows = await work();
  const { user, system } = process.cpuUsage(before);
  return { seconds: (user + system) / 1e6, rows };
}

const median = (numbers: readonly number[]): number => numbers.toSorted((a, b) => a - b)[numbers.length >> 1]!;
const mebibytes = (bytes: number): string => `${Math.round(bytes / 1_048_576)} MiB`;

async function compare(folder: string, dialect: Dialect, rows: number): Promise<void> {
  const path = join(folder, "log.csv");
  writeLog(path, dialect, rows);
  const repeats = rows > 3e6 ? 1 : 5;
  const ours: number[] = [];
  const plain: number[] = [];
  for (let k = 0; k < repeats; k++) {
    const mine = await time(() => readOurs(path));
    if (mine.rows !== rows) throw new Error(`read ${mine.rows} of ${rows} rows`);
    ours.push(mine.seconds);
    plain.push((await time(() => readPlain(path))).seconds);
  }
  const [a, b] = [median(ours), median(plain)];
  const peak = process.resourceUsage().maxRSS * 1024;
  console.log(
    `${dialect.name}, ${rows / 1e6} M rows, ${mebibytes(statSync(path).size)}: ${a.toFixed(2)} s, plain papaparse ${b.toFixed(2)} s, ratio ${(a / b).toFixed(2)}; peak memory so far ${mebibytes(peak)}`,
  );
  rmSync(path);
}

const folder = mkdtempSync(join(tmpdir(), "read-log-"));
try {
  const asked = process.argv.slice(2).map((text) => Number(text) * 1000);
  for (const rows of asked.length > 0 ? asked : [10_000, 1_000_000, 10_000_000]) {
    for (const dialect of dialects) await compare(folder, dialect, rows);
  }
} finally {
  rmSync(folder, { recursive: true, force: true });
}
