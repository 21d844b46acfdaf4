/**
 * Logs drawn in any dialect from a known truth: what a meter measured, then how it wrote it.
 * It knows nothing of the reader. All figures are invented.
 */
import type { Recording } from "../../../analysis/job/job.ts";

export const voltsRecording = (more: Partial<Recording> = {}): Recording => ({
  file: "log.csv",
  round: "before",
  quantity: "volts",
  from: "load+",
  to: "load-",
  ...more,
});

export const ampsRecording = (more: Partial<Recording> = {}): Recording => ({
  file: "log.csv",
  round: "before",
  quantity: "amps",
  through: "feed",
  ...more,
});

export const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);

export interface Dialect {
  readonly delimiter: string;
  readonly decimal: "." | ",";
  readonly lineBreak: string;
  readonly time: "seconds" | "milliseconds" | "iso" | "isoZone" | "date+time" | "timeOfDay" | "epoch" | "epochMs";
  readonly unit: "header" | "beside" | "column" | "none";
  readonly milli: boolean;
  readonly header: boolean;
  readonly preamble: readonly string[];
  readonly trailingDelimiter: boolean;
  /** cells in quotes: every so many rows, 0 never */
  readonly quoteEvery: number;
  /** an over-range mark every so many rows, 0 never */
  readonly gapEvery: number;
  /** a repeated header, a remark or a blank line every so many rows, 0 never */
  readonly noiseEvery: number;
}

export interface Truth {
  readonly seconds: readonly number[];
  readonly volts: readonly number[];
}

const twoDigits = (n: number): string => String(n).padStart(2, "0");
const startEpochMs = Date.UTC(2026, 2, 14, 23, 59, 30);

/** @returns the cells of the time of one row, seconds to the millisecond */
function timeCells(dialect: Dialect, seconds: number): string[] {
  const ms = Math.round(seconds * 1000);
  const at = new Date(startEpochMs + ms);
  const fraction = `${dialect.decimal}${String(at.getUTCMilliseconds()).padStart(3, "0")}`;
  const time = `${twoDigits(at.getUTCHours())}:${twoDigits(at.getUTCMinutes())}:${twoDigits(at.getUTCSeconds())}${fraction}`;
  const day = at.toISOString().slice(0, 10);
  switch (dialect.time) {
    case "seconds":
      return [(ms / 1000).toFixed(3).replace(".", dialect.decimal)];
    case "milliseconds":
      return [String(ms)];
    case "iso":
      return [`${day}T${time}Z`];
    case "isoZone":
      return [`${day} ${time}+01:00`];
    case "date+time":
      return [`${day.slice(8)}.${day.slice(5, 7)}.${day.slice(0, 4)}`, time];
    case "timeOfDay":
      return [time];
    case "epoch":
      return [((startEpochMs + ms) / 1000).toFixed(3).replace(".", dialect.decimal)];
    case "epochMs":
      return [String(startEpochMs + ms)];
  }
}

const timeHeaders: Record<Dialect["time"], string[]> = {
  seconds: ["Time (s)"],
  milliseconds: ["Time (ms)"],
  iso: ["Timestamp"],
  isoZone: ["Timestamp"],
  "date+time": ["Date", "Time"],
  timeOfDay: ["Time"],
  epoch: ["Unix time"],
  epochMs: ["Unix time"],
};

export function headerOf(dialect: Dialect): string[] {
  const unit = dialect.milli ? "mV" : "V";
  const value = dialect.unit === "header" ? `Voltage (${unit})` : "Voltage";
  return [...timeHeaders[dialect.time], value, ...(dialect.unit === "column" ? ["Unit"] : []), "Temp (°C)"];
}

/** One row as the meter writes it; `null` volts: over range. */
function rowOf(dialect: Dialect, seconds: number, volts: number | null): string[] {
  const unit = dialect.milli ? "mV" : "V";
  const text = volts === null ? "OL" : dialect.milli ? (volts * 1000).toFixed(1) : volts.toFixed(4);
  const number = text.replace(".", dialect.decimal);
  const value = dialect.unit === "beside" ? `${number} ${unit}` : number;
  return [...timeCells(dialect, seconds), value, ...(dialect.unit === "column" ? [unit] : []), "21"];
}

const every = (n: number, i: number): boolean => n > 0 && i % n === n - 1;

export interface Drawn {
  readonly text: string;
  /** what should be read: the truth less its gaps */
  readonly seconds: number[];
  readonly volts: number[];
  readonly gaps: number;
  /** rows of noise that carry text */
  readonly noise: number;
}

export function drawLog(dialect: Dialect, truth: Truth): Drawn {
  const lines = [...dialect.preamble];
  const join = (cells: readonly string[]): string =>
    cells.join(dialect.delimiter) + (dialect.trailingDelimiter ? dialect.delimiter : "");
  if (dialect.header) lines.push(join(headerOf(dialect)));
  const drawn = { seconds: [] as number[], volts: [] as number[], gaps: 0, noise: 0 };
  truth.seconds.forEach((seconds, i) => {
    const volts = every(dialect.gapEvery, i) ? null : truth.volts[i]!;
    const cells = rowOf(dialect, seconds, volts);
    lines.push(join(every(dialect.quoteEvery, i) ? cells.map((cell) => `"${cell}"`) : cells));
    if (volts === null) drawn.gaps++;
    else {
      drawn.seconds.push(seconds);
      drawn.volts.push(volts);
    }
    if (every(dialect.noiseEvery, i)) {
      const kind = i % 3;
      lines.push(kind === 0 ? "" : kind === 1 ? "# probe moved" : join(headerOf(dialect)));
      if (kind === 1 || (kind === 2 && dialect.header)) drawn.noise++;
    }
  });
  return { ...drawn, text: lines.join(dialect.lineBreak) + dialect.lineBreak };
}

export const plainDialect: Dialect = {
  delimiter: ",",
  decimal: ".",
  lineBreak: "\n",
  time: "seconds",
  unit: "header",
  milli: false,
  header: true,
  preamble: [],
  trailingDelimiter: false,
  quoteEvery: 0,
  gapEvery: 0,
  noiseEvery: 0,
};
