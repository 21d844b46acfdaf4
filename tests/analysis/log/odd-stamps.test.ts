// Times as meters write them, invented from the list of what they do before the reader was looked at: each read wrongly once.
// Truth: the log of drawn-export.ts.
import { describe, expect, test } from "vitest";
import { clock, expectDrawn, half, lines, march4, read, rows, ten, truth } from "./drawn-export.ts";

describe("time of day run together", () => {
  test.each([
    ["hhmmss", (i: number) => clock(ten + 7 * i, "")],
    ["hhmmss before ten, with its nought", (i: number) => clock(32_390 + 7 * i, "")],
    ["hmmss before ten, without it", (i: number) => `${Number(clock(32_390 + 7 * i, ""))}`],
    ["hhmmss past midnight", (i: number) => clock((86_260 + 7 * i) % 86_400, "")],
    ["hhmmss.s", (i: number) => clock(ten + 7 * i, "", 1)],
  ])("%s", (_, stamp) => {
    expectDrawn(`Time,Volts\n${lines((i) => `${stamp(i)},${truth(i)}`)}`, 7);
  });

  test("beside a date", () => {
    const log = expectDrawn(`Date,Time,Volts\n${lines((i) => `20260304,${clock(ten + 7 * i, "")},${truth(i)}`)}`, 7);
    expect(log.samples.startEpochSeconds).toBe(march4 + ten);
  });

  test.each([
    ["ddmmyy,hhmmss", "040326", ""],
    ["ddmmyy,hhmmss", "40326", ""],
    ["mmddyy,hhmmss", "030426", ""],
    ["yymmdd,hhmmss", "260304", ""],
    ["Date (DDMMYYYY),Time", "04032026", ""],
    ["mmddyyyy,hhmmss", "03042026", ""],
    ["yyyymmdd,hhmmss", "20260304", ""],
    ["ddmmyy,Time", "040326", ":"],
  ])("beside a date whose order the header names: %s, %s", (header, date, mark) => {
    const log = expectDrawn(`${header},Volts\n${lines((i) => `${date},${clock(ten + 7 * i, mark)},${truth(i)}`)}`, 7);
    expect(log.samples.startEpochSeconds).toBe(march4 + ten);
  });

  test("a date run together that changes at midnight", () => {
    const row = (i: number) => `${i < 20 ? "040326" : "050326"},${clock((86_260 + 7 * i) % 86_400, "")},${truth(i)}`;
    const log = expectDrawn(`ddmmyy,hhmmss,Volts\n${lines(row)}`, 7);
    expect(log.samples.startEpochSeconds).toBe(march4 + 86_260);
  });

  test("beside a date that could be read many ways", () => {
    const log = expectDrawn(`Date,Time,Volts\n${lines((i) => `240326,${clock(ten + 7 * i, "")},${truth(i)}`)}`, 7);
    expect(log.samples.startEpochSeconds).toBeNull();
  });

  test("logged on change, at no regular steps", () => {
    const stamps = [100_000, 100_003, 100_115, 100_322, 100_324, 101_530, 101_531, 112_000];
    const [log] = read(`Time,Volts\n${stamps.map((stamp) => `${stamp},12.5`).join("\n")}\n`);
    expect([...log!.samples.seconds]).toEqual([0, 3, 75, 202, 204, 930, 931, 4800]);
  });

  test("with the date in fourteen digits", () => {
    const log = expectDrawn(`Time,Volts\n${lines((i) => `20260304${clock(ten + 7 * i, "")},${truth(i)}`)}`, 7);
    expect(log.samples.startEpochSeconds).toBe(march4 + ten);
  });

  test.each([
    ["a count by hundreds", (i: number) => 100 * i, 0.1],
    ["milliseconds since the meter was switched on", (i: number) => 123_456 + 500 * i, 0.5],
    ["seconds since then", (i: number) => 123_400 + i, 1],
  ])("%s is no time of day", (_, count, step) => {
    expectDrawn(`Time,Volts\n${lines((i) => `${count(i)},${truth(i)}`)}`, step);
  });
});

describe("stamps", () => {
  test.each([
    ["2026-03-04_10-00-00", (i: number) => `2026-03-04_${clock(ten + i, "-")}`],
    ["04.03.2026 10.00.00", (i: number) => `04.03.2026 ${clock(ten + i, ".")}`],
    ["[2026-03-04T10:00:00]", (i: number) => `[2026-03-04T${clock(ten + i, ":")}]`],
    [
      "2026-03-04T11:00:00+01:00[Region/Town]",
      (i: number) => `2026-03-04T${clock(39_600 + i, ":")}+01:00[Region/Town]`,
    ],
  ])("%s", (_, stamp) => {
    const log = expectDrawn(`Time;Volts\n${lines((i) => `${stamp(i)};${truth(i)}`)}`, 1);
    expect(log.samples.startEpochSeconds).toBe(march4 + ten);
  });

  test.each([
    ["Date (MM/DD/YYYY),Time,Volts", "03/04/2026"],
    ["Date (dd/mm/yyyy),Time,Volts", "04/03/2026"],
    ["Date,Time,U\ndd/mm/yy,hh:mm:ss,V", "04/03/26"],
    ["Date,Time,Volts", "4. 3. 2026"],
    ["Datum,Zeit,Volt", "04.Mrz.2026"],
  ])("%s says how %s is meant", (header, date) => {
    const log = expectDrawn(`${header}\n${lines((i) => `${date},${clock(ten + i, ":")},${truth(i)}`)}`, 1);
    expect(log.samples.startEpochSeconds).toBe(march4 + ten);
    expect(log.warnings).toEqual([]);
  });

  test.each([
    ["a year that no log is of would stand last", "Date,Time,Volts", () => "26/03/04", 0],
    ["the days go on", "Date,Time,Volts", (i: number) => (i < 20 ? "26-03-24" : "26-03-25"), 1],
    ["the header says so", "Date (yy-mm-dd),Time,Volts", () => "26-03-24", 0],
  ])("a year of two digits stands first where %s", (_, header, date, midnight) => {
    const time = (i: number) => clock(midnight > 0 ? (i < 20 ? 86_380 + i : i - 20) : ten + i, ":");
    const log = expectDrawn(`${header}\n${lines((i) => `${date(i)},${time(i)},${truth(i)}`)}`, 1);
    const day = date(0).endsWith("04") ? march4 : march4 + 20 * 86_400;
    expect(log.samples.startEpochSeconds).toBe(day + (midnight > 0 ? 86_380 : ten));
    expect(log.warnings).toEqual([]);
  });

  test("where nothing tells where its year stands, that is said", () => {
    const log = expectDrawn(`Date,Time,Volts\n${lines((i) => `26-03-24,${clock(ten + i, ":")},${truth(i)}`)}`, 1);
    expect(log.samples.startEpochSeconds).toBe(Date.UTC(2024, 2, 26, 10) / 1000);
    expect(log.warnings).toEqual(["the year of 26-03-24 was taken to stand last; it could stand first"]);
    const usual = expectDrawn(`Date,Time,Volts\n${lines((i) => `24/03/26,${clock(ten + i, ":")},${truth(i)}`)}`, 1);
    expect(usual.warnings).toEqual([]);
  });

  test("elapsed time that counts down to a trigger", () => {
    const stamp = (i: number) => `${i < 10 ? "-" : ""}00:00:${`${Math.abs(i - 10)}`.padStart(2, "0")}`;
    expectDrawn(`Elapsed,Volts\n${lines((i) => `${stamp(i)},${truth(i)}`)}`, 1);
  });

  test.each([".", "-"])("10%s05%s07 is a time of day where what would be the year moves", (mark) => {
    expectDrawn(`Time;Volts\n${lines((i) => `${clock(36_300 + i, mark)};${truth(i)}`)}`, 1);
  });

  test("the date stands in the preamble alone", () => {
    const log = expectDrawn(`Date: 2026-03-04\nTime,Volts\n${lines((i) => `${clock(ten + i, ":")},${truth(i)}`)}`, 1);
    expect(log.samples.startEpochSeconds).toBe(march4 + ten);
  });

  test.each([
    ["seconds", (i: number) => half(i), 0.5],
    ["stamps", (i: number) => `2026-03-04 ${clock(ten + i, ":")}`, 1],
    ["milliseconds without a unit", (i: number) => `${500 * i}`, 0.5],
  ])("newest first, in %s", (_, stamp, step) => {
    const log = expectDrawn(`Time,Volts\n${lines((i) => `${stamp(i)},${truth(i)}`, rows.toReversed())}`, step);
    expect(log.warnings.join()).toContain("newest first");
  });

  test("a count of the rows before the time, and no header", () => {
    expectDrawn(
      lines((i) => `${i},${half(i)},${truth(i)}`),
      0.5,
    );
  });
});

describe("a header that says only Min", () => {
  test.each(["Min,Volts", "Min,1 (V)", "min.,Volts"])("%s: minutes where it rises row by row", (header) => {
    expectDrawn(`${header}\n${lines((i) => `${(i / 10).toFixed(1)},${truth(i)}`)}`, 6);
  });

  test("the least of an interval beside the value and the greatest", () => {
    const log = expectDrawn(`Time (s),Volts,Min,Max\n${lines((i) => `${i},${truth(i)},${i / 100},15`)}`, 1);
    expect(log.extremes!.lowest![10]).toBe(0.1);
  });
});
