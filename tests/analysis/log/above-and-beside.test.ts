// What stands above and beside the rows of recorders, loggers and spreadsheets, each read wrongly once.
// Truth: the log of drawn-export.ts; a reading differs from it by nothing, or the log is refused with the sentence given.
import { describe, expect, test } from "vitest";
import type { Recording } from "../../../analysis/job/job.ts";
import { amps, clock, comma, expectDrawn, half, lines, march4, read, rows, ten, truth, volts } from "./drawn-export.ts";

describe("an interval stated above the rows", () => {
  test.each([
    ["Sampling,00:00:02", 2],
    ["Sampling speed: 10 S/s", 0.1],
    ["Rate: 30 samples/min", 2],
    ["Logging every 2 seconds", 2],
    ["Abtastintervall: 0,5 Sek.", 0.5],
    ["Période d'échantillonnage : 500 ms", 0.5],
    ["Intervallo di campionamento: 2 s", 2],
    ["Intervalo de muestreo: 2 s", 2],
    ["サンプリング間隔,500ms", 0.5],
    ["采样间隔：2秒", 2],
    ["Интервал: 2 с", 2],
  ])("%s", (line, seconds) => {
    expectDrawn(`${line}\nNo.;U (V)\n${lines((i) => `${i + 1};${truth(i)}`)}`, seconds);
  });

  test.each(["Sampling start: 10:00:00", "Samples: 40", "Record length: 60 s"])("%s states none", (line) => {
    expect(() => read(`${line}\nNo.;U (V)\n${lines((i) => `${i + 1};${truth(i)}`)}`)).toThrow(/interval/);
  });

  test("a column of increments below its name", () => {
    const text = `X,CH1,Start,Increment\nSequence,Volt,-1.20E+00,1.0E-01\n${lines((i) => `${i},${truth(i)},`)}`;
    expectDrawn(text, 0.1);
  });
});

describe("a start stated above the rows", () => {
  const body = `Time (s),U (V)\n${lines((i) => `${i},${truth(i)}`)}`;
  test("a year of two digits that stands first", () => {
    const [log] = read(`Trigger time,26-03-04 10:00:00\n${body}`);
    expect(log!.samples.startEpochSeconds).toBe(march4 + ten);
  });
  test("is left open where the year could stand first or last", () => {
    expect(read(`Trigger time,26-03-24 10:00:00\n${body}`)[0]!.samples.startEpochSeconds).toBeNull();
  });
  test("and a zone in the header is the stamps' own", () => {
    const stamp = (i: number) => `2026-03-04 ${clock(ten + i, ":")}`;
    const zoned = `"#","Date Time, GMT+01:00","Voltage, V (S/N: 4711)"\n${lines((i) => `${i + 1},${stamp(i)},${truth(i)}`)}`;
    expect(expectDrawn(zoned, 1).samples.startEpochSeconds).toBe(march4 + ten - 3600);
  });
});

describe("names and units of columns", () => {
  const row = (i: number) => `${i}\t${truth(i)}\t${(10 * truth(i)).toFixed(1)}`;
  const block = "Channel\tCH1\tCH2\nName\tBattery\tDrop\nUnit\tV\tmV\nRange\t20\t500\nTime [s]\t\t\n";
  test.each([
    ["under the words for them", block],
    ["without a line for the time", "Name\tBattery\tDrop\nUnit\tV\tmV\n"],
  ])("%s", (_, above) => {
    expectDrawn(above + lines(row), 1, { ...volts, column: "Battery" });
    const drop = read(above + lines(row), { ...volts, column: "Drop" })[0]!.samples.values;
    expect(drop[0]).toBeCloseTo(truth(0) / 100, 9);
  });
  test("channels by number above their units", () => {
    const text = `x-axis,1,2\nsecond,Volt,mVolt\n${lines((i) => `${i},${truth(i)},30.5`)}`;
    expectDrawn(text, 1, { ...volts, column: "1" });
    expect(read(text, { ...volts, column: 3 })[0]!.samples.values[0]).toBeCloseTo(0.0305, 9);
  });
  test("a header wider than the rows, filled in the first alone", () => {
    const last = (i: number) => (i === 0 ? ",30.0,0.0,010012345" : "");
    const text = `Logger,Time,Voltage(V),High Alarm,Low Alarm,Serial Number\n${lines((i) => `${i + 1},2026-03-04 ${clock(ten + i, ":")},${truth(i)}${last(i)}`)}`;
    const log = expectDrawn(text, 1);
    expect(log.samples.column).toBe("Voltage(V)");
  });
});

describe("what a spreadsheet makes of a log", () => {
  const day = (i: number) => comma(((ten + i) / 86_400).toFixed(9));
  test("the time of day as a fraction of the day, over midnight too", () => {
    const text = `Time;Voltage (V)\n${lines((i) => `${day(i)};${comma(`${truth(i)}`)}`)}`;
    read(text)[0]!.samples.seconds.forEach((second, i) => void expect(second).toBeCloseTo(i, 3));
    const late = (i: number) => comma((((86_390 + i) % 86_400) / 86_400).toFixed(9));
    const night = read(`Time;Voltage (V)\n${lines((i) => `${late(i)};${comma(`${truth(i)}`)}`)}`)[0]!;
    night.samples.seconds.forEach((second, i) => void expect(second).toBeCloseTo(i, 3));
  });
  test("and the date as the number of its day", () => {
    const text = `Date;Time;Voltage (V)\n${lines((i) => `46085;${day(i)};${comma(`${truth(i)}`)}`)}`;
    expect(read(text)[0]!.samples.startEpochSeconds).toBeCloseTo(march4 + ten, 3);
  });
  test("microseconds stay what they are", () => {
    const text = `Time;Voltage (V)\n${lines((i) => `${(i * 1e-5).toFixed(9)};${truth(i)}`)}`;
    expectDrawn(text, 1e-5);
  });
  test("the dial's word before the number", () => {
    expectDrawn(`Time,Reading\n${lines((i) => `${clock(ten + i, ":")},DC ${truth(i)} V`)}`, 1);
    expectDrawn(`Time,Reading\n${lines((i) => `${clock(ten + i, ":")},DCV ${truth(i).toFixed(3)}`)}`, 1);
    expect(() => read(`Time,Reading\n${lines((i) => `${clock(ten + i, ":")},ACV ${truth(i).toFixed(3)}`)}`)).toThrow(
      /AC/,
    );
  });
  test("units of time behind exponents", () => {
    const row = (i: number) => `+${truth(i).toExponential(6)}VDC,+${(i / 2).toExponential(5)}SECS,+${i}RDNG#`;
    expectDrawn(lines(row), 0.5);
  });
});

describe("refused with a sentence that helps", () => {
  const table = (header: string, row: (i: number) => string) => `${header}\n${lines(row)}`;
  const cases: [string, string, Partial<Recording>, string][] = [
    [
      "AC said above the rows",
      table("Function: AC Voltage\nTime (s),Value", (i) => `${i},${truth(i)}`),
      {},
      "log.csv, line 2, column Value: this column holds AC (AC Voltage); a supply's DC volts should be logged",
    ],
    [
      "two columns of one name",
      table("t (s);U (V);;t (s);U (V)", (i) => `${i};${comma(half(i))};;${i};${comma(half(i))}`),
      { column: "U (V)" },
      "log.csv, line 1, column U (V): 2 columns have this name; 'column' should be the number of the one meant: 2, 5",
    ],
    [
      "a column of stamps",
      table("Time,CH1 (V)", (i) => `${clock(ten + i, ":")},${truth(i)}`),
      { column: "Time" },
      "log.csv, line 2, column Time: this column holds '10:00:00' in its first row, which is no number; the log has 'Time', 'CH1 (V)'",
    ],
    [
      "an order of day and month that makes no date",
      table("Date,Time,V", (i) => `3/14/2026,${clock(ten + i, ":")},${truth(i)}`),
      { dayFirst: true },
      "log.csv, line 2, dayFirst: '3/14/2026 10:00:00' is no date with the day first; 'dayFirst' should be false",
    ],
    [
      "millivolts with a comma that could part thousands",
      table("Time,mV", (i) => `${i},"12,${600 + i}"`),
      {},
      "log.csv, line 2, column mV, decimal: 12,600 could be 12.600 or 12600 mV; 'decimal' should say which sign stands before the decimals",
    ],
    [
      "a comma between the cells and in the numbers",
      table("Time,V", (i) => `${i},${comma(truth(i).toFixed(2))}`),
      { decimal: "," },
      "log.csv, line 2, column 2: a comma seems to stand between the cells and in the numbers (12,55): the rows have more cells than the header; the log should be exported with another delimiter or with a decimal point",
    ],
  ];
  test.each(cases)("%s", (_, text, overrides, sentence) => {
    expect(() => read(text, { ...volts, ...overrides })).toThrow(sentence);
  });

  test("of two columns of one name the one in the recording's quantity is meant, each with its own clock", () => {
    const text = table(
      "Time;Value (V);;Time;Value (A)",
      (i) => `${i};${comma(`${truth(i)}`)};;${2 * i};${comma(`${truth(i)}`)}`,
    );
    expectDrawn(text, 1, { ...volts, column: "Value", timeColumn: "Time" });
    const log = read(text, { ...amps, column: "Value", timeColumn: "Time" })[0]!;
    expect([...log.samples.values]).toEqual(rows.map(truth));
    expect(log.samples.seconds[1]).toBe(2);
  });
});

test("a count of records is no value, and 'DC V Avg' is volts", () => {
  const extremes = (i: number) => `${(truth(i) - 0.1).toFixed(2)},${(truth(i) + 0.1).toFixed(2)}`;
  const text = (count: string) =>
    `${count},Date/Time,DC V Avg,DC V Min,DC V Max\n${lines((i) => `${i + 1},2026/03/04 ${clock(ten + i, ":")},${truth(i)},${extremes(i)}`)}`;
  for (const count of ["Rec#", "Lot"]) {
    const log = expectDrawn(text(count), 1);
    expect(log.extremes?.lowest?.[0]).toBeCloseTo(truth(0) - 0.1, 9);
  }
});
