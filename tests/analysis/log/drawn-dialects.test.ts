// Exports drawn by a generator that was written from the list of what meters write, not from the reader: what it read wrongly or refused.
// Truth: the log of drawn-export.ts; a reading differs from it by nothing.
import { describe, expect, test } from "vitest";
import {
  amps,
  ampsTruth,
  clock,
  comma,
  expectDrawn,
  half,
  lines,
  march4,
  read,
  rows,
  ten,
  truth,
  volts,
} from "./drawn-export.ts";

const every = { ...volts, interval: 0.5 };
const millivolts = (i: number) => Math.round(1000 * truth(i));

describe("units", () => {
  test("a row of units stands above letters and words in the names", () => {
    expectDrawn(`t;Set A;Clamp B\ns;mV;A\n${lines((i) => `${half(i)};${millivolts(i)};${ampsTruth(i)}`)}`, 0.5, {
      ...volts,
      column: "Set A",
    });
    expectDrawn(`Time (s),Load volts\n,mV DC\n${lines((i) => `${half(i)},${millivolts(i)}`)}`, 0.5);
    expectDrawn(`t,Clamp\ns,mAmps\n${lines((i) => `${half(i)},${Math.round(1000 * ampsTruth(i))}`)}`, 0.5, amps);
  });

  test("flags of one letter are no units", () => {
    const flag = ["H", "OK", "Auto", ""];
    expectDrawn(`Time (s)\tReading\tHold\n${lines((i) => `${half(i)}\t${truth(i)}\t${i % 2 ? "H" : ""}`)}`, 0.5);
    expectDrawn(`Time (s)\tReading [V]\tMode\n${lines((i) => `${half(i)}\t${truth(i)}\tA`)}`, 0.5);
    expectDrawn(`Time (s)\tReading [V]\tMode\n${lines((i) => `${half(i)}\t${truth(i)}\t${flag[(i * 7) % 4]}`)}`, 0.5);
  });

  test("a second channel's number beside its unit", () => {
    expectDrawn(`Time (s),V1,mV2\n${lines((i) => `${half(i)},1.5,${millivolts(i)}`)}`, 0.5, { ...volts, column: 3 });
  });
});

describe("time", () => {
  test("a date run together beside the time of day", () => {
    for (const mark of [",", " "]) {
      const header = mark === "," ? "Date,Time,V" : "When,V";
      const log = expectDrawn(`${header}\n${lines((i) => `20260304${mark}${clock(ten + i, ":")},${truth(i)}`)}`, 1);
      expect(log.samples.startEpochSeconds).toBe(march4 + ten);
    }
  });

  test("minutes headed 'min' beside the least of each interval", () => {
    const row = (i: number) => `${(i / 120).toFixed(5)};${truth(i)};${truth(i)};${truth(i)}`;
    const { seconds } = read(`min;Value (V);Min (V);Max (V)\n${lines(row)}`)[0]!.samples;
    expect(seconds.at(-1)).toBeCloseTo(19.5, 2);
  });

  test("rows that count themselves are no seconds: the interval is the preamble's, or asked for", () => {
    const table = `Reading|Display (V)\n${lines((i) => `${i + 1}|${truth(i)}`)}`;
    expectDrawn(`Interval: 5 s\n${table}`, 5);
    expect(() => read(table)).toThrow("no sampling interval is stated");
  });

  test("a row without a value takes its time", () => {
    const empty = [5, 6, 30];
    const cell = (i: number) => (empty.includes(i) ? "" : `${truth(i)}`);
    const kept = rows.filter((i) => !empty.includes(i));
    for (const text of [
      `"No.";"Battery"\n${lines((i) => `"${i + 1}";"${cell(i)}"`)}`,
      `Reading,Unit\n${lines((i) => `${cell(i)},V`)}`,
    ]) {
      const { seconds, values } = read(text, every)[0]!.samples;
      expect([...values]).toEqual(kept.map(truth));
      expect([...seconds]).toEqual(kept.map((i) => i / 2));
    }
  });

  test("a missing row too, where the rows are numbered", () => {
    const kept = rows.filter((i) => i !== 12);
    const { seconds } = read(`No.,V\n${lines((i) => `${i + 1},${truth(i)}`, kept)}`, every)[0]!.samples;
    expect([...seconds]).toEqual(kept.map((i) => i / 2));
  });
});

describe("what is no row", () => {
  test("statistics below a log without time", () => {
    expectDrawn(
      `#|Set (V)|Feed (A)\n${lines((i) => `${i + 1}|${truth(i)}|${ampsTruth(i)}`)}Min|11.32|0.6\nMax|12.58|11.5\n`,
      0.5,
      every,
    );
    const two = `Set,Feed\n${lines((i) => `${truth(i)} V,${ampsTruth(i)} A`)}Average,5.1 A\n`;
    expectDrawn(two, 0.5, { ...amps, interval: 0.5 });
  });

  test("a pair of the preamble above numbers without names", () => {
    expectDrawn(`Function\tDC V\n${lines((i) => `${1000 * (march4 + i)}\t${truth(i)}`)}`, 1);
    expectDrawn(`Logging interval\t500 ms\n${lines((i) => `${truth(i)}\t${ampsTruth(i)}`)}`, 0.5, {
      ...volts,
      column: 1,
    });
  });

  test("an interval that is cut as the rows are", () => {
    expectDrawn(`Sampling interval (s)|5\nV|A\n${lines((i) => `${truth(i)}|${ampsTruth(i)}`)}`, 5);
    expectDrawn(`Interval|5 s\n${lines((i) => `${truth(i)}`)}`, 5);
  });

  test("a table of numbers above the log", () => {
    expectDrawn(
      `Calibration\n1,0.001\n2,0.002\n3,0.003\n\nTime (s),Volts\n${lines((i) => `${half(i)},${truth(i)}`)}`,
      0.5,
    );
  });

  test("a header with blanks in its names, repeated where blanks part the cells", () => {
    const half1 = lines((i) => `  ${half(i)}   ${truth(i)}`, rows.slice(0, 20));
    const half2 = lines((i) => `  ${half(i)}   ${truth(i)}`, rows.slice(20));
    expectDrawn(` Elapsed s  Spannung_in_V\n${half1} Elapsed s  Spannung_in_V\n${half2}`, 0.5);
  });
});

describe("cells", () => {
  test("a log that begins with a mark nobody knows keeps its header", () => {
    const text = `Time (s);Drop [mV]\n${lines((i) => `${half(i)};${i < 4 ? "OFLOW" : millivolts(i)}`)}`;
    const [log] = read(text);
    expect([...log!.samples.values]).toEqual(rows.slice(4).map(truth));
    expect(log!.rejected).toEqual([{ reason: "no number in the cell", count: 4, firstLine: 2 }]);
  });

  test("a flag at the end of a row may be missing in the first", () => {
    expectDrawn(`Voltage in mV;Flags\n${lines((i) => `${millivolts(i)};${i % 5 === 4 ? "OK" : ""}`)}`, 0.5, every);
    expectDrawn(`Level, mV\t\n${lines((i) => `${millivolts(i)}\t`)}`, 0.5, every);
  });

  test("an instrument's infinity keeps its point among decimal commas, and each is counted", () => {
    const row = (i: number) => `${comma(half(i))};${i % 10 === 5 ? "9.9E+37" : comma(`${truth(i)}`)}`;
    const [log] = read(`Time (s);V\n${lines(row)}`);
    expect([...log!.samples.values]).toEqual(rows.filter((i) => i % 10 !== 5).map(truth));
    expect(log!.rejected).toEqual([{ reason: "over-range mark", count: 4, firstLine: 7 }]);
  });

  test("a tab parts a stamp from a number with its sign", () => {
    const row = (i: number) => `04-Mar-26 ${clock(ten + i, ":")}.000\t+${comma(truth(i).toFixed(4))}`;
    expectDrawn(`Time stamp\tSpannung, V\n${lines(row)}`, 1);
  });

  test("a lone column of decimal commas", () => {
    expectDrawn(`Reading, V\n${lines((i) => comma(truth(i).toFixed(4)))}`, 0.5, every);
    const thousands = (i: number) => `${Math.floor(truth(i))} ${`${millivolts(i) % 1000}`.padStart(3, "0")},00`;
    expectDrawn(`"Level (mV)"\n${lines(thousands)}`, 0.5, every);
  });

  test("quotes where blanks part the cells, and texts for a spreadsheet", () => {
    expectDrawn(`"Time (s)"  "Drop mV"\n${lines((i) => `   ${half(i)}    ${millivolts(i)}`)}`, 0.5);
    expectDrawn(`Time (s),V\n${lines((i) => `${half(i)},="${truth(i)}"`)}`, 0.5);
  });
});
