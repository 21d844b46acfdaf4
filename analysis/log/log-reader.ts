/**
 * A meter's log read as it streams: bytes of any delimited export go in, in chunks cut anywhere;
 * out come the samples of each recording with an account of what was decided and what was left out.
 */
import type { Recording } from "../job/job.ts";
import { Problem } from "../problem.ts";
import { Body } from "./body.ts";
import { ByteScanner } from "./byte-scanner.ts";
import { Channel, ClockedChannels } from "./channel.ts";
import { medianStep } from "./clock.ts";
import { chooseClock } from "./clock-choice.ts";
import { chooseColumn } from "./column-choice.ts";
import { delimiterNames } from "./delimited-text.ts";
import { concatBytes, LineDecoder, Utf8Stream } from "./encoding.ts";
import { refuseForeignFile } from "./foreign-file.ts";
import { readHead } from "./head.ts";
import { findLayout, type Layout } from "./layout.ts";
import { refuseMixedChannels } from "./mixed-channels.ts";
import { noLayout, unclosedQuote } from "./no-layout.ts";
import type { DecimalSign } from "./number-cell.ts";
import { readPreamble } from "./preamble.ts";
import { RejectedTally } from "./rejected-rows.ts";
import type { Decision, LogReading } from "./sample.ts";
import { settleChannel, settleClock } from "./samples-of-channel.ts";
import { findTimeSources } from "./time-source.ts";
import { epochOfStamp, parseStamp } from "./timestamp.ts";
import { refuseThousands, refuseTwoCommas } from "./two-commas.ts";

export interface LogReader {
  /**
   * Takes the next bytes of the file; nothing of the chunk is kept, so that one buffer may serve for all.
   * @throws {Problem} as soon as it is plain that the file cannot be read
   */
  push(chunk: Uint8Array): void;
  /** One reading a recording, in the same order. @throws {Problem} where the file cannot be read */
  finish(): LogReading[];
}

export interface ReadingHints {
  /** size of the file where it is known: room for all its rows is then set aside at once; need not be right */
  readonly bytesExpected?: number;
  /** `fast`: regular rows go from bytes to numbers; `general`: every row is cut into cells of text. Both give the same. */
  readonly way?: "fast" | "general";
}

/** Room is set aside for no more rows than these: a size may be a false one. */
const mostRowsExpected = 16_000_000;

/** The layout is looked for in this much of the file, then in twice as much and so on: preambles may be long. */
const firstHeadBytes = 65_536;
const longestHeadBytes = 8 * 1_048_576;
const longestPreambleBytes = 2 * 1_048_576;

/**
 * A reader of one file for all its recordings. To cancel it, push no more.
 * Local stamps without a zone are read as if at Greenwich, so `startEpochSeconds` is then local time.
 * @param file its name, for what is said of it
 * @param recordings all of this one file; their overrides (`column`, `timeColumn`, `interval`, `startTime`,
 *   `delimiter`, `decimal`, `dayFirst`, `unit`) stand above the reader's own decisions. Those that concern the whole file are the first recording's that has one.
 */
export function createLogReader(file: string, recordings: readonly Recording[], hints: ReadingHints = {}): LogReader {
  return new StreamingLogReader(file, recordings, hints);
}

/**
 * The same for a file that is at hand as a whole.
 * @example readLog("load.csv", bytes, [{ file: "load.csv", round: "before", quantity: "volts", from: "load+", to: "load-" }])[0].samples.values
 */
export function readLog(file: string, bytes: Uint8Array, recordings: readonly Recording[]): LogReading[] {
  const reader = createLogReader(file, recordings, { bytesExpected: bytes.length });
  reader.push(bytes);
  return reader.finish();
}

class StreamingLogReader implements LogReader {
  readonly #file: string;
  readonly #recordings: readonly Recording[];
  readonly #hints: ReadingHints;
  readonly #utf8 = new Utf8Stream();
  readonly #decoder = new LineDecoder();
  #headPieces: Uint8Array[] = [];
  #headLength = 0;
  #headWanted = firstHeadBytes;
  #open: OpenLog | null = null;

  constructor(file: string, recordings: readonly Recording[], hints: ReadingHints) {
    this.#hints = hints;
    this.#file = file;
    this.#recordings = recordings;
  }

  push(chunk: Uint8Array): void {
    this.#take(this.#utf8.push(chunk), false);
  }

  finish(): LogReading[] {
    this.#take(this.#utf8.finish(), true);
    return this.#open!.finish(this.#utf8.encoding ?? "UTF-8");
  }

  #take(bytes: Uint8Array, last: boolean): void {
    let rest = bytes;
    while (this.#open === null) {
      const piece = rest.slice(0, this.#headWanted - this.#headLength);
      rest = rest.subarray(piece.length);
      this.#headPieces.push(piece);
      this.#headLength += piece.length;
      const whole = last && rest.length === 0;
      if (this.#headLength < this.#headWanted && !whole) return;
      const head = concatBytes(this.#headPieces, this.#headLength);
      this.#open = this.#tryOpen(head, whole);
      this.#headPieces = this.#open === null ? [head] : [];
      this.#headWanted *= 2;
      if (whole) return;
    }
    this.#open.body.take(rest, last);
  }

  /** The log opened at its first row; null where more of it must be seen first. */
  #tryOpen(head: Uint8Array, last: boolean): OpenLog | null {
    if (head.length === 0) throw new Problem("the log is empty; it should hold rows of numbers", { file: this.#file });
    refuseForeignFile(this.#file, head);
    const first = this.#recordings;
    const delimiter = delimiterOf(first.find((recording) => recording.delimiter)?.delimiter ?? null);
    const decimal = first.find((recording) => recording.decimal)?.decimal ?? null;
    const records = readHead(this.#file, head, delimiter, this.#decoder, last);
    const layout = findLayout(records, { delimiter, decimal });
    const before = layout === null ? records : records.slice(0, layout.bodyAt);
    const unclosed = before.find((record) => record.unclosed);
    if (unclosed !== undefined) throw unclosedQuote(this.#file, unclosed, layout?.delimiter ?? ",");
    if (layout === null) {
      if (!last && head.length < longestHeadBytes) return null;
      throw noLayout(this.#file, records.at(-1)?.line ?? 1, delimiter);
    }
    if (decimal !== ".") refuseTwoCommas(this.#file, layout);
    const body = records[layout.bodyAt]!;
    const rowBytes = (head.length - body.offset) / (records.length - layout.bodyAt);
    const expected = Math.ceil((1.03 * (this.#hints.bytesExpected ?? 0)) / rowBytes);
    const start: Start = {
      firstLine: body.line,
      rowsExpected: Math.min(expected, mostRowsExpected),
      way: this.#hints.way ?? "fast",
    };
    const open = this.#openLog(layout, start, !last && head.length < longestPreambleBytes);
    if (open === null) return null;
    open.body.take(head.subarray(body.offset), last);
    return open;
  }

  /** @param mayBePreamble what looks like rows without time or without the quantity may be a table in a long preamble */
  #openLog(layout: Layout, start: Start, mayBePreamble: boolean): OpenLog | null {
    try {
      return new OpenLog(this.#file, this.#recordings, layout, this.#decoder, start);
    } catch (error) {
      if (mayBePreamble && error instanceof Problem) return null;
      throw error;
    }
  }
}

const delimiterOf = (text: string | null): string | null => {
  if (text === null) return null;
  const named = Object.entries(delimiterNames).find(([, name]) => name === text.toLowerCase())?.[0];
  if (named !== undefined) return named;
  return text === "\\t" ? "\t" : /^[ ]+$/.test(text) ? " " : text;
};

interface Start {
  readonly firstLine: number;
  /** 0: not known */
  readonly rowsExpected: number;
  readonly way: "fast" | "general";
}

/** A log whose layout is known: channels are filling. */
class OpenLog {
  readonly body: Body;
  readonly #file: string;
  readonly #recordings: readonly Recording[];
  readonly #layout: Layout;
  readonly #decoder: LineDecoder;
  readonly #decimal: DecimalSign;
  readonly #clocked: ClockedChannels[] = [];
  readonly #channels: { readonly channel: Channel; readonly clocked: ClockedChannels }[];

  constructor(file: string, recordings: readonly Recording[], layout: Layout, decoder: LineDecoder, start: Start) {
    this.#file = file;
    this.#recordings = recordings;
    this.#layout = layout;
    this.#decoder = decoder;
    const stated = recordings.some(({ decimal }) => decimal !== undefined);
    this.#decimal = { sign: layout.decimal, settled: stated || layout.decimalSeen };
    this.#channels = this.#openChannels(start.rowsExpected);
    const scanner = start.way === "fast" ? new ByteScanner(this.#clocked, this.#decimal, layout.delimiter) : null;
    this.body = new Body(layout, this.#clocked, scanner, decoder, start.firstLine);
  }

  #openChannels(rows: number) {
    const layout = this.#layout;
    const sources = findTimeSources(layout);
    const timeColumns = new Set(sources.flatMap(({ columns }) => columns));
    const preamble = readPreamble(layout.preamble);
    const byKey = new Map<string, ClockedChannels>();
    return this.#recordings.map((recording) => {
      const choice = chooseColumn(this.#file, layout, recording, timeColumns, preamble.unit);
      refuseMixedChannels(this.#file, layout, choice.column, timeColumns);
      if (recording.decimal === undefined) refuseThousands(this.#file, layout, choice.column, choice.unit);
      const chosen = chooseClock(this.#file, layout, recording, sources, choice.column, preamble, this.#decimal);
      let clocked = byKey.get(chosen.key);
      if (clocked === undefined) {
        clocked = new ClockedChannels(chosen.clock, rows);
        byKey.set(chosen.key, clocked);
        this.#clocked.push(clocked);
      }
      const channel = new Channel(choice, recording.quantity, this.#decimal, rows);
      clocked.channels.push(channel);
      return { channel, clocked };
    });
  }

  finish(encoding: string): LogReading[] {
    const settled = new Map(this.#clocked.map((clocked) => [clocked, this.#settle(clocked)]));
    return this.#channels.map(({ channel, clocked }, i) => {
      const { clock, interval } = settled.get(clocked)!;
      const { startEpoch, decisions } = this.#startOf(this.#recordings[i]!);
      const result = settleChannel(this.#file, channel, clock, startEpoch, interval);
      return {
        ...result,
        decisions: [...this.#sharedDecisions(encoding), ...channel.choice.decisions, ...clock.decisions, ...decisions],
        rejected: RejectedTally.join(this.body.rejected, clocked.rejected, channel.rejected),
        warnings: [...channel.choice.warnings, ...clock.warnings],
      };
    });
  }

  #settle(clocked: ClockedChannels) {
    const clock = settleClock(clocked);
    return { clock, interval: medianStep(clock.seconds, false) };
  }

  #startOf(recording: Recording): { startEpoch: number | null; decisions: Decision[] } {
    if (recording.startTime === undefined) return { startEpoch: null, decisions: [] };
    const stamp = parseStamp(recording.startTime);
    const epoch = stamp === null ? null : epochOfStamp(stamp, recording.dayFirst ?? true);
    if (epoch === null) {
      throw new Problem(`'startTime' should be a date and time as 2026-03-04T10:00:00; got '${recording.startTime}'`, {
        file: this.#file,
        field: "startTime",
      });
    }
    return {
      startEpoch: epoch,
      decisions: [{ what: "startTime", value: recording.startTime, evidence: "the job says so", sure: 1 }],
    };
  }

  #sharedDecisions(encoding: string): Decision[] {
    const { delimiter, sure } = this.#layout;
    const { sign, settled } = this.#decimal;
    return [
      {
        what: "encoding",
        value: this.#decoder.sawWindows1252 ? "Windows-1252" : encoding,
        evidence: "the file's bytes",
        sure: 0.98,
      },
      {
        what: "delimiter",
        value: delimiterNames[delimiter] ?? delimiter,
        evidence: "the one that cuts the rows into cells that can be read",
        sure,
      },
      {
        what: "decimal",
        value: sign === "." ? "point" : "comma",
        evidence: settled ? "numbers with decimals" : "no number has decimals",
        sure: settled ? sure : 0.6,
      },
    ];
  }
}
