/**
 * The log reader over the dialects of meters: each log is drawn by hand beside what must be read from it.
 * Values are invented. Sources: RFC 4180 for quoting, SCPI-1999 for 9.9E37 and 9.91E37 (both as in open-formats, section 1).
 */
import { existsSync, readFileSync } from "node:fs";
import Papa from "papaparse";
import { describe, expect, it } from "vitest";
import type { Recording } from "../../../analysis/job/job.ts";
import { readLog } from "../../../analysis/log/log-reader.ts";
import type { LogReading } from "../../../analysis/log/sample.ts";
import { ampsRecording, bytesOf, voltsRecording } from "./drawn-dialect.ts";

const count = 20;
const volts = Array.from({ length: count }, (_, i) => (i % 4 === 2 ? 11.98 : 12.61));
const point = (i: number): string => volts[i]!.toFixed(2);
const comma = (i: number): string => point(i).replace(".", ",");
const two = (i: number): string => String(i).padStart(2, "0");
const lines = (row: (i: number) => string, n = count): string =>
  `${Array.from({ length: n }, (_, i) => row(i)).join("\n")}\n`;
const every = (step: number, n = count): number[] => Array.from({ length: n }, (_, i) => i * step);
const epoch = (iso: string): number => Date.parse(iso) / 1000;

const read = (text: string | Uint8Array, more: Partial<Recording> = {}): LogReading =>
  readLog("log.csv", typeof text === "string" ? bytesOf(text) : text, [voltsRecording(more)])[0]!;

interface Case {
  readonly text: string | Uint8Array;
  readonly recording?: Partial<Recording>;
  readonly seconds?: readonly number[];
  readonly volts?: readonly number[];
  readonly start?: number | null;
  readonly column?: string | number;
  readonly warns?: RegExp;
}

function latin1(text: string): Uint8Array {
  return Uint8Array.from(text, (letter) => letter.charCodeAt(0));
}

function utf16(text: string, littleEndian: boolean): Uint8Array {
  const bytes = new DataView(new ArrayBuffer(text.length * 2));
  for (let i = 0; i < text.length; i++) bytes.setUint16(2 * i, text.charCodeAt(i), littleEndian);
  return new Uint8Array(bytes.buffer);
}

const plainRows = lines((i) => `${i},${point(i)}`);
const plainText = `Time (s),Voltage (V)\n${plainRows}`;
const milliRows = lines((i) => `${i};${volts[i]! * 1000};21\r`);

const cases: Record<string, Case> = {
  "commas, seconds": {
    text: `Time (s),Voltage (V)\n${lines((i) => `${i / 2},${point(i)}`)}`,
    seconds: every(0.5),
    column: "Voltage (V)",
    start: null,
  },
  "semicolons, decimal commas": {
    text: `Zeit [s];Spannung [V]\n${lines((i) => `${String(i / 2).replace(".", ",")};${comma(i)}`)}`,
    seconds: every(0.5),
    column: "Spannung [V]",
  },
  "tabs, ISO stamps in UTC": {
    text: `timestamp\tvolts\n${lines((i) => `2026-03-04T10:00:${two(i)}Z\t${point(i)}`)}`,
    start: epoch("2026-03-04T10:00:00Z"),
  },
  "ISO stamps with a zone": {
    text: `timestamp,volts\n${lines((i) => `2026-03-04T10:00:${two(i)}.5+01:00,${point(i)}`)}`,
    start: epoch("2026-03-04T09:00:00.5Z"),
  },
  "ISO stamps without a zone, as if at Greenwich": {
    text: `timestamp,volts\n${lines((i) => `2026-03-04 10:00:${two(i)},${point(i)}`)}`,
    start: epoch("2026-03-04T10:00:00Z"),
  },
  pipes: { text: `| Time | V |\n|---|---|\n${lines((i) => `| ${i} | ${point(i)} |`)}`, column: "V" },
  "runs of blanks": {
    text: `Time (s)   Voltage (V)\n${lines((i) => `  ${i / 2}     ${point(i)}`)}`,
    seconds: every(0.5),
    column: "Voltage (V)",
  },
  "blanks, date and time, remark sign before the header": {
    text: `# date time volts\n${lines((i) => `2026-03-04 10:00:${two(i)}   ${point(i)}`)}`,
    start: epoch("2026-03-04T10:00:00Z"),
  },
  "blanks and decimal commas": { text: lines((i) => `${i},0  ${comma(i)}`), column: 2 },
  "date and time in two columns, day first by dots": {
    text: `Datum;Uhrzeit;Wert;Einheit\n${lines((i) => `04.03.2026;10:00:${two(i)};${comma(i)};V`)}`,
    start: epoch("2026-03-04T10:00:00Z"),
    column: "Wert",
  },
  "month first by a day above 12": {
    text: `Date,Time,V\n${lines((i) => `03/14/26,10:00:${two(i)},${point(i)}`)}`,
    start: epoch("2026-03-14T10:00:00Z"),
  },
  "day first by the midnight passed": {
    text: `Date Time;V\n${lines((i) => `${i < 10 ? `04/05/2026 23:59:${50 + i}` : `05/05/2026 00:00:${two(i - 10)}`};${point(i)}`)}`,
    start: epoch("2026-05-04T23:59:50Z"),
  },
  "month first by the midnight passed": {
    text: `Date Time;V\n${lines((i) => `${i < 10 ? `04/05/2026 23:59:${50 + i}` : `04/06/2026 00:00:${two(i - 10)}`};${point(i)}`)}`,
    start: epoch("2026-04-05T23:59:50Z"),
  },
  "both orders possible: said": {
    text: `Date,Time,V\n${lines((i) => `04/03/2026,10:00:${two(i)},${point(i)}`)}`,
    start: epoch("2026-03-04T10:00:00Z"),
    warns: /dayFirst/,
  },
  "the job's word on the order": {
    text: `Date,Time,V\n${lines((i) => `04/03/2026,10:00:${two(i)},${point(i)}`)}`,
    recording: { dayFirst: false },
    start: epoch("2026-04-03T10:00:00Z"),
  },
  "12-hour clock over midnight": {
    text: `Date/Time,Volts DC\n${lines((i) => `3/${i < 10 ? 14 : 15}/2026 ${i < 10 ? `11:59:${50 + i} PM` : `12:00:${two(i - 10)} AM`},${point(i)}`)}`,
    start: epoch("2026-03-14T23:59:50Z"),
  },
  "month by name": {
    text: `Date,V\n${lines((i) => `4-Mar-2026 10:00:${two(i)},${point(i)}`)}`,
    start: epoch("2026-03-04T10:00:00Z"),
  },
  "time of day past midnight": {
    text: `Time,V\n${lines((i) => `${i < 10 ? `23:59:${50 + i}` : `00:00:${two(i - 10)}`},${point(i)}`)}`,
    start: null,
    warns: /midnight/,
  },
  "elapsed hours": { text: `Elapsed;U (V)\n${lines((i) => `0:00:${two(i)},5;${comma(i)}`)}`, start: null },
  "elapsed hours beyond a day": {
    text: `Elapsed,V\n${lines((i) => `${20 + i}:00:00,${point(i)}`)}`,
    seconds: every(3600),
  },
  "elapsed minutes and seconds": { text: `Elapsed,U (V)\n${lines((i) => `00:${two(i)}.5,${point(i)}`)}` },
  "milliseconds from start": { text: `Time (ms),V\n${lines((i) => `${i * 100},${point(i)}`)}`, seconds: every(0.1) },
  "minutes from start": {
    text: `Time [min];U [V]\n${lines((i) => `${(i / 10).toFixed(1).replace(".", ",")};${comma(i)}`)}`,
    seconds: every(6),
  },
  "whole numbers far apart and no unit: milliseconds, said": {
    text: `Time,Voltage\n${lines((i) => `${i * 250},${point(i)}`)}`,
    seconds: every(0.25),
    warns: /milliseconds/,
  },
  "Unix time in seconds": {
    text: `unix,voltage\n${lines((i) => `${1_772_611_200 + i / 2},${point(i)}`)}`,
    seconds: every(0.5),
    start: 1_772_611_200,
  },
  "Unix time in milliseconds": {
    text: `ts,u\n${lines((i) => `${1_772_611_200_000 + i * 500},${point(i)}`)}`,
    seconds: every(0.5),
    start: 1_772_611_200,
  },
  "Unix time in microseconds": {
    text: `time,V\n${lines((i) => `${1_772_611_200_000_000 + i * 500_000},${point(i)}`)}`,
    seconds: every(0.5),
    start: 1_772_611_200,
  },
  "a spreadsheet's serial day": {
    text: `Date,Volts\n${lines((i) => `${(46_085 + i / 86_400).toFixed(10)},${point(i)}`)}`,
    start: epoch("2026-03-04T00:00:00Z"),
  },
  "an interval in the preamble": {
    text: `Meter export\nSample interval: 0.5 s\nStart: 2026-03-04 10:00:00\nRange,60,V\n\nNo.;Value (V)\n${lines((i) => `${i + 1};${point(i)}`)}`,
    seconds: every(0.5),
    start: epoch("2026-03-04T10:00:00Z"),
    column: "Value (V)",
  },
  "an interval in milliseconds above a header that is a unit": {
    text: `Interval [ms]: 500\nV\n${lines(point)}`,
    seconds: every(0.5),
    column: "V",
  },
  "an interval as hours, minutes, seconds": {
    text: `Logging interval;00:00:05\nNr;Volt\n${lines((i) => `${i};${comma(i)}`)}`,
    seconds: every(5),
    column: "Volt",
  },
  "a rate in hertz": { text: `Sample rate: 10 Hz\nVoltage (V)\n${lines(point)}`, seconds: every(0.1) },
  "an interval stated by the job": { text: lines(point), recording: { interval: 0.5 }, seconds: every(0.5), column: 1 },
  "the job's interval stands above the log's time": {
    text: plainText,
    recording: { interval: 0.25 },
    seconds: every(0.25),
  },
  "the job's start": {
    text: plainText,
    recording: { startTime: "2026-03-04T10:00:00+01:00" },
    start: epoch("2026-03-04T09:00:00Z"),
  },
  "the job's time column": {
    text: `a,b,c\n${lines((i) => `${point(i)},${i},7`)}`,
    recording: { timeColumn: "b", column: "a" },
    column: "a",
  },
  "the job's unit": {
    text: `Time (s),CH1\n${lines((i) => `${i},${Math.round(volts[i]! * 1000)}`)}`,
    recording: { unit: "mV" },
    column: "CH1",
  },
  "the job's delimiter and decimal": {
    text: lines((i) => `${i};${comma(i)}`),
    recording: { delimiter: "semicolon", decimal: "," },
  },
  "units beside the number, auto-ranging": {
    text: `No,Time,Reading\n${lines((i) => `${i + 1},10:00:${two(i)},${i % 4 === 2 ? "11980 mV" : "12.61V"}`)}`,
    column: "Reading",
  },
  "units in a column of their own, auto-ranging": {
    text: `Time;Value;Unit\n${lines((i) => `10:00:${two(i)};${i % 4 === 2 ? "11980,0;mV" : "12,610;V DC"}`)}`,
    column: "Value",
  },
  "a row of units under the header": {
    text: `Time,Voltage,Current\ns,mV,A\n${lines((i) => `${i},${Math.round(volts[i]! * 1000)},3`)}`,
    column: "Voltage",
  },
  "UTF-8 with a mark": { text: `\ufeff${plainText}` },
  "UTF-16 little-endian with a mark": {
    text: utf16(`\ufeffTime (s)\tVoltage (mV)\r\n${lines((i) => `${i}\t${volts[i]! * 1000}\r`)}`, true),
  },
  "UTF-16 big-endian without a mark": { text: utf16(plainText, false) },
  "Windows-1252 with degree and micro sign": {
    text: latin1(`Zeit (s);Spannung (mV);Temp (\u00b0C)\r\n${milliRows}`),
    column: "Spannung (mV)",
  },
  "CR alone": { text: plainText.replaceAll("\n", "\r") },
  CRLF: { text: plainText.replaceAll("\n", "\r\n") },
  "quotes, doubled quotes and line breaks in a cell": {
    text: `"Time (s)","Remark","Voltage, V"\r\n${lines((i) => `"${i}","two\r\nlines, ""x""","${point(i)}"`)}`,
    column: "Voltage, V",
  },
  "decimal commas in quotes between commas": {
    text: `"Time (s)","Voltage (V)"\n${lines((i) => `"${i},0","${comma(i)}"`)}`,
  },
  "thousands in blanks": { text: `Time (s);mV\n${lines((i) => `${i};${i % 4 === 2 ? "11 980,0" : "12\u202f610,0"}`)}` },
  "a trailing delimiter, in the rows alone too": { text: `Time (s),Voltage (V)\n${lines((i) => `${i},${point(i)},`)}` },
  "rows of unequal length": {
    text: `Time (s),Voltage (V),Note\n${lines((i) => `${i},${point(i)}${i % 3 > 0 ? ",ok" : ""}`)}`,
  },
  "a decimal sign that shows late": {
    text: `t (s);U (V)\n${lines((i) => `${i};${i < 8 ? "12" : comma(i)}`)}`,
    volts: volts.map((v, i) => (i < 8 ? 12 : v)),
  },
  "a preamble with numbers and delimiters of its own": {
    text: `Export;1.2\nChannels,2,4\n1,2\n\nRange: 60 V; 10 A\nTime (s),Voltage (V)\n${plainRows}`,
  },
  "a line that names the delimiter": { text: `sep=;\r\nTime (s);Voltage (V)\r\n${plainRows.replaceAll(",", ";")}` },
  "a repeated header where the meter restarted": {
    text: `Time (s),V\n${lines((i) => `${i % 10},${point(i)}`).replace("\n0,", "\nTime (s),V\n0,")}`,
    warns: /steps back once/,
  },
  "stamps of whole seconds at ten a second": {
    text: `Time,V\n${lines((i) => `10:00:${two(Math.floor((i + 7) / 10))},${point(i)}`)}`,
    seconds: every(0.1),
  },
  "summer time ends": {
    text: `Time,V\n${lines((i) => `2026-10-25 02:${i < 10 ? `59:${50 + i}` : `00:${two(i - 10)}`},${point(i)}`)}`,
    warns: /falls back by one hour/,
  },
  "summer time begins": {
    text: `Time,V\n${lines((i) => `2026-03-29 ${i < 10 ? `01:59:${50 + i}` : `03:00:${two(i - 10)}`},${point(i)}`)}`,
    warns: /leaps ahead/,
  },
  "minimum, maximum and average beside the value": {
    text: `Time,Value (V),Min (V),Max (V),Avg (V)\n${lines((i) => `10:00:${two(i)},${point(i)},11.5,13.1,12.5`)}`,
    column: "Value (V)",
  },
  "average alone": {
    text: `Time,Min (V),Max (V),Average (V)\n${lines((i) => `10:00:${two(i)},11.5,13.1,${point(i)}`)}`,
    column: "Average (V)",
  },
  "two columns in volts, one named like the points": {
    text: `Time (s),Battery (V),Load (V)\n${lines((i) => `${i},12.9,${point(i)}`)}`,
    column: "Load (V)",
    warns: /'Battery \(V\)' could be meant/,
  },
  "the job's column by number": {
    text: `Time (s),CH1 (V),CH2 (V)\n${lines((i) => `${i},12.9,${point(i)}`)}`,
    recording: { column: 3 },
    column: 3,
  },
  "the job's column by its name without the unit": {
    text: `Time (s),CH1 (V),CH2 (V)\n${lines((i) => `${i},12.9,${point(i)}`)}`,
    recording: { column: "ch2" },
    column: "ch2",
  },
  "a tail of zeros after a loss of power": { text: `${plainText}${"\0".repeat(5000)}` },
};

describe("a log in every dialect", () => {
  for (const [name, { text, recording, ...expected }] of Object.entries(cases)) {
    it(name, () => {
      const { samples, warnings } = read(text, recording);
      expect([...samples.values]).toEqual(expected.volts ?? volts);
      const seconds = expected.seconds ?? every(1);
      const worst = Math.max(...seconds.map((at, i) => Math.abs(at - samples.seconds[i]!)));
      expect(worst, `worst error of time ${worst} s`).toBeLessThan(2e-5);
      if (expected.start !== undefined) expect(samples.startEpochSeconds).toBe(expected.start);
      if (expected.column !== undefined) expect(samples.column).toBe(expected.column);
      if (expected.warns !== undefined) expect(warnings.join("\n")).toMatch(expected.warns);
      else expect(warnings).toEqual([]);
    });
  }
});

describe("a preamble longer than the first look", () => {
  it("is passed over, a table of numbers in it too", () => {
    const body = lines((i) => `${i / 2},12.${50 + (i % 9)}`, 300);
    const { samples } = read(`${"Calibration point,12.5\n".repeat(20_000)}Time (s),Voltage (V)\n${body}`);
    expect(samples.values).toHaveLength(300);
    expect(samples.column).toBe("Voltage (V)");
  });
});

describe("gaps and rows left out", () => {
  it("takes no mark for a number, and counts each kind with its first line", () => {
    const marks = [
      "OL",
      "-OL",
      "O.L",
      "OVLD",
      "---",
      "9.9E37",
      "9.91E+37",
      "-9.9e37",
      "inf",
      "NaN",
      "",
      "0L",
      "OL V",
      "--.--",
    ];
    const rows = marks.map((mark, i) => `${i * 2},12.5\n${i * 2 + 1},${mark}`).join("\n");
    const { samples, rejected } = read(`Time (s),V\n${rows}\n`);
    expect([...samples.values]).toEqual(marks.map(() => 12.5));
    expect([...samples.gapSeconds]).toEqual(marks.map((_, i) => i * 2 + 1));
    expect(rejected).toEqual([
      { reason: "over-range mark", count: 10, firstLine: 3 },
      { reason: "mark for no number", count: 3, firstLine: 11 },
      { reason: "empty cell", count: 1, firstLine: 23 },
    ]);
  });

  it("leaves out footers, remarks and repeated headers, and says where", () => {
    const text = `Time (s),V\n${plainRows}# moved the probe\nTime (s),V\n\n20,12.5\nMin,11.98\nEnd of file\n`;
    const { samples, rejected } = read(text);
    expect(samples.values).toHaveLength(21);
    expect(rejected).toEqual([
      { reason: "remark", count: 1, firstLine: 22 },
      { reason: "header repeated", count: 1, firstLine: 23 },
      { reason: "text between the rows", count: 2, firstLine: 26 },
    ]);
  });

  it("does not believe a last row that was cut short", () => {
    const { samples, rejected } = read(plainText.slice(0, -2));
    expect(samples.values).toHaveLength(count - 1);
    expect(rejected).toEqual([{ reason: "last row cut short", count: 1, firstLine: count + 1 }]);
    expect(read(plainText.slice(0, -1)).samples.values).toHaveLength(count);
  });

  it("counts repeated rows as samples", () => {
    const { samples } = read(`Time (s),V\n${lines((i) => `${i},12.50\n${i},12.50`)}`);
    expect(samples.values).toHaveLength(2 * count);
    expect(samples.seconds.every((at, i) => i === 0 || at >= samples.seconds[i - 1]!)).toBe(true);
  });

  it("sorts rows out of order, and puts a damaged stamp between its neighbours", () => {
    for (const [damage, said] of [
      [(i: number) => (i === 7 ? 8 : i === 8 ? 7 : i), /one is earlier .* they were sorted/],
      [(i: number) => (i === 10 ? 9010 : i), /steps back once/],
      [(i: number) => (i === 10 ? 1 : i), /steps back once/],
    ] as const) {
      const { samples, warnings } = read(`Time (s),V\n${lines((i) => `${damage(i)},${point(i)}`)}`);
      expect(
        samples.seconds.every((at, i) => Math.abs(at - i) <= 1 && (i === 0 || at >= samples.seconds[i - 1]!)),
      ).toBe(true);
      expect(warnings.join()).toMatch(said);
    }
  });
});

describe("several recordings of one file", () => {
  it("gives each its own, in their order, on one clock", () => {
    const text = `Time (s),I (A),U (V)\n${lines((i) => `${i + 5},${i < 2 ? "" : 0.6},${point(i)}`)}`;
    const [amps, its] = readLog("log.csv", bytesOf(text), [ampsRecording(), voltsRecording()]);
    expect(amps!.samples.column).toBe("I (A)");
    expect(its!.samples.column).toBe("U (V)");
    expect([amps!.samples.startClockSeconds, its!.samples.startClockSeconds]).toEqual([7, 5]);
    expect([...amps!.samples.gapSeconds]).toEqual([-2, -1]);
  });

  it("reads channels by time columns of their own, the shorter one to its own end", () => {
    const text = `t1 (s),V1 (V),t2 (s),I2 (A)\n${lines((i) => `${i},${point(i)},${i < 10 ? `${i * 2 + 0.5},3.5` : ","}`)}`;
    const [its, amps] = readLog("log.csv", bytesOf(text), [voltsRecording(), ampsRecording()]);
    expect([...its!.samples.values]).toEqual(volts);
    expect([...amps!.samples.seconds]).toEqual(every(2, 10));
    expect(amps!.rejected).toEqual([]);
  });

  it("keeps minimum and maximum as evidence of spread", () => {
    const { extremes } = read(
      `Time,Value (V),Min (V),Max (V)\n${lines((i) => `10:00:${two(i)},${i === 3 ? "OL" : point(i)},11.5,13.1`)}`,
    );
    expect([...extremes!.lowest!]).toEqual(Array(count - 1).fill(11.5));
    expect([...extremes!.highest!]).toEqual(Array(count - 1).fill(13.1));
  });

  it("says what it decided, from what, and how sure it is", () => {
    const { decisions } = read(plainText);
    expect(decisions.map(({ what, value }) => `${what}: ${value}`)).toEqual([
      "encoding: UTF-8",
      "delimiter: comma",
      "decimal: point",
      "column: 'Voltage (V)'",
      "unit: V",
      "timeColumn: Time (s): s from start",
    ]);
    expect(decisions.every(({ sure, evidence }) => sure > 0.5 && sure <= 1 && evidence !== "")).toBe(true);
  });
});

describe("recorded logs of open data", () => {
  const folder = "../shared/open-data";
  for (const name of ["pulsed-discharge-b0025.csv", "pulsed-discharge-b0028.csv"]) {
    it(`reads ${name} as it is`, () => {
      const path = `${folder}/${name}`;
      if (!existsSync(path)) {
        console.log(`left out: ${path} is not there`);
        return;
      }
      const bytes = readFileSync(path);
      const table = Papa.parse<Record<string, number>>(bytes.toString(), {
        header: true,
        dynamicTyping: true,
        skipEmptyLines: true,
      }).data;
      const named = (column: string, recording: Recording): Recording => ({ ...recording, column });
      const [atCell, atLoad, amps] = readLog(name, bytes, [
        named("Voltage_measured", voltsRecording()),
        named("Voltage_load", voltsRecording()),
        named("Current_load", ampsRecording()),
      ]);
      const column = (key: string): number[] => table.map((row) => row[key]!);
      expect([...atCell!.samples.values]).toEqual(column("Voltage_measured"));
      expect([...atLoad!.samples.values]).toEqual(column("Voltage_load"));
      expect([...amps!.samples.values]).toEqual(column("Current_load"));
      expect([...amps!.samples.seconds]).toEqual(column("Time"));
      expect(atLoad!.samples.column).toBe("Voltage_load");
      expect(amps!.rejected).toEqual([]);
    });
  }
});
