/**
 * Logs laid out ready in the worker: each is read once as a stream, a piece at a time, and kept while there is room.
 */
import {
  createLogReader,
  type Decision,
  type LogReading,
  type Recording,
  type RejectedRows,
} from "../../analysis/index.ts";
import { findLog } from "../storage/logs.ts";

/** What the reader made of one recording, without its samples. */
export interface LogAccount {
  readonly column: string | number;
  readonly samples: number;
  readonly least: number;
  readonly most: number;
  readonly lastSeconds: number;
  readonly intervalSeconds: number;
  readonly decisions: readonly Decision[];
  readonly rejected: readonly RejectedRows[];
  readonly warnings: readonly string[];
}

export type OnShare = (share: number) => void;

/** Two columns of eight bytes: so many samples are about half a gigabyte. */
const samplesAtMost = 30_000_000;

/** kept in the order of their last use */
const bench = new Map<string, LogReading[]>();

/** What of a recording decides how its file is read. */
function readingOf({
  quantity,
  column,
  timeColumn,
  interval,
  startTime,
  delimiter,
  decimal,
  dayFirst,
  unit,
}: Recording): unknown[] {
  return [quantity, column, timeColumn, interval, startTime, delimiter, decimal, dayFirst, unit];
}

/**
 * @param recordings all of one file
 * @throws {Problem} where the file cannot be read
 */
export async function readFile(
  sha256: string,
  recordings: readonly Recording[],
  onShare?: OnShare,
): Promise<LogReading[]> {
  const key = JSON.stringify([sha256, ...recordings.map(readingOf)]);
  const kept = bench.get(key);
  const logs = kept ?? (await streamed(sha256, recordings, onShare));
  bench.delete(key);
  bench.set(key, logs);
  makeRoom();
  return logs;
}

async function streamed(sha256: string, recordings: readonly Recording[], onShare?: OnShare): Promise<LogReading[]> {
  const file = recordings[0]!.file;
  const blob = await findLog(sha256);
  if (!blob) throw new Error(`${file}: this log is no longer in the browser's store; open it again.`);
  const reader = createLogReader(file, recordings, { bytesExpected: blob.size });
  const pieces = blob.stream().getReader();
  let done = 0;
  for (let piece = await pieces.read(); !piece.done; piece = await pieces.read()) {
    reader.push(piece.value);
    done += piece.value.length;
    onShare?.(done / blob.size);
  }
  return reader.finish();
}

function makeRoom(): void {
  const weight = (logs: LogReading[]) => logs.reduce((sum, { samples }) => sum + samples.values.length, 0);
  let total = [...bench.values()].reduce((sum, logs) => sum + weight(logs), 0);
  for (const [key, logs] of bench) {
    if (total <= samplesAtMost || bench.size === 1) return;
    bench.delete(key);
    total -= weight(logs);
  }
}

export async function accountOf(sha256: string, recording: Recording): Promise<LogAccount> {
  const [log] = await readFile(sha256, [recording]);
  const { samples, decisions, rejected, warnings } = log!;
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const value of samples.values) {
    if (value < least) least = value;
    if (value > most) most = value;
  }
  return {
    column: samples.column,
    samples: samples.values.length,
    least: tidy(least),
    most: tidy(most),
    lastSeconds: samples.seconds.at(-1) ?? 0,
    intervalSeconds: tidy(samples.intervalSeconds),
    decisions,
    rejected,
    warnings,
  };
}

const tidy = (value: number): number => Number(value.toPrecision(6));
