// Units, headers and stamps in the languages that meters and phones write them in.
// Truth: the log of drawn-export.ts, and calendar dates worked out by hand. Sources: how phones format dates, from memory.
import { describe, expect, test } from "vitest";
import { parseDuration } from "../../../analysis/log/duration.ts";
import { epochOfStamp, parseStamp } from "../../../analysis/log/timestamp.ts";
import { parseUnit } from "../../../analysis/log/unit.ts";
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
  ten,
  truth,
  volts,
} from "./drawn-export.ts";

describe("units in other languages", () => {
  test.each([
    ["мВ", "volts", 1000],
    ["В", "volts", 1],
    ["мкВ", "volts", 1e6],
    ["милливольт", "volts", 1000],
    ["Mikrovolt", "volts", 1e6],
    ["毫伏", "volts", 1000],
    ["ミリボルト", "volts", 1000],
    ["А", "amps", 1],
    ["мА", "amps", 1000],
    ["Milliampère", "amps", 1000],
    ["Sek.", "seconds", 1],
    ["мс", "seconds", 1000],
    ["秒", "seconds", 1],
    ["V/m", "other", 1],
    ["V/cell", "other", 1],
  ])("%s", (text, quantity, divide) => {
    expect(parseUnit(text)).toMatchObject({ quantity, divide, multiply: 1 });
  });

  test.each(["n/a", "U/V", "AC/DC", "Std", "Ora", "Hora", "Heure", "timer"])("%s is none", (text) => {
    expect(parseUnit(text)).toBeNull();
  });

  test("a fieldstrength is no voltage", () => {
    expect(() => read(`Time (s),Field (V/m)\n${lines((i) => `${i},${truth(i)}`)}`)).toThrow(
      /found 'Field \(V\/m\)' in V\/m/,
    );
  });

  test("millivolts in another script are millivolts", () => {
    const text = `Время;Падение, мВ\n${lines((i) => `${i};${comma((100 * truth(i)).toFixed(1))}`)}`;
    expect(read(text)[0]!.samples.values[0]).toBeCloseTo(truth(0) / 10, 9);
  });
});

describe("headers in other languages", () => {
  test.each([
    "Data;Hora;Tensão;Corrente (A)",
    "Data;Ora;Tensione;Corrente (A)",
    "Datum;Čas;Napětí;Proud (A)",
    "Dato;Klokkeslett;Spenning;Strøm (A)",
    "Päivämäärä;Kellonaika;Jännite;Virta (A)",
    "Tarih;Saat;Gerilim;Akım (A)",
    "Дата;Время;Напряжение;Ток, А",
    "日付;時刻;電圧;電流(A)",
    "日期;时间;电压;电流(安)",
    "날짜;시간;전압;전류(A)",
    "Dátum;Idő;Feszültség;Áramerősség [A]",
  ])("%s", (header) => {
    const text = `${header}\n${lines((i) => `04.03.2026;${clock(ten + i, ":")};${comma(`${truth(i)}`)};${comma(`${ampsTruth(i)}`)}`)}`;
    expect(expectDrawn(text, 1).samples.startEpochSeconds).toBe(march4 + ten);
    expectDrawn(text, 1, amps);
  });

  test.each([
    ["the deviation is not the value", "Average V\tMinimum V\tMaximum V\tStd dev V"],
    ["nor are the limits of an alarm", "Reading V\tLow alarm V\tHigh alarm V\tLimit V"],
    ["nor is the ripple", "DC V\tMin V\tMax V\tRipple V"],
  ])("%s", (_, header) => {
    expectDrawn(`Elapsed (s)\t${header}\n${lines((i) => `${half(i)}\t${truth(i)}\t12.10\t12.90\t0.003`)}`, 0.5);
  });

  test("peak to peak and inrush are not the value", () => {
    expectDrawn(`Time (s),Vpp (V),Vavg (V)\n${lines((i) => `${half(i)},0.3,${truth(i)}`)}`, 0.5);
    expectDrawn(`Time (s),Current DC (A),Inrush (A)\n${lines((i) => `${half(i)},${ampsTruth(i)},15.1`)}`, 0.5, amps);
  });

  test("'Battery A' beside 'Battery V' is its current, beside 'Battery B' a channel", () => {
    const row = (i: number) => `${half(i)},${truth(i)},${ampsTruth(i)}`;
    expectDrawn(`Time (s),Battery V,Battery A\n${lines(row)}`, 0.5);
    expectDrawn(`Time (s),Battery V,Battery A\n${lines(row)}`, 0.5, amps);
    expect(() => read(`Time (s),Battery A,Battery B\n${lines(row)}`, amps)).toThrow(/2 columns could hold amps/);
    expect(() => read(`Time (s),Battery V,Starter V\n${lines(row)}`)).toThrow(/2 columns could hold volts/);
  });

  test("many columns are not all listed", () => {
    const names = Array.from({ length: 20 }, (_, k) => `CH${k + 1} (V)`);
    const text = `Time (s),${names.join(",")}\n${lines((i) => [half(i), ...names.map(() => truth(i))].join(","))}`;
    expect(() => read(text)).toThrow(/'CH12 \(V\)' and 8 more; the recording should say which in 'column'$/);
  });
});

describe("stamps in other languages", () => {
  const at = march4 + ten;
  test.each([
    ["Wednesday, March 4, 2026 at 10:00:00 AM", at],
    ["3/4/26, 10:00:00\u202fAM", null],
    ["4 mars 2026 à 10:00:00", at],
    ["mer. 4 mars 2026 10:00:00", at],
    ["4. März 2026 um 10:00:00", at],
    ["4 de marzo de 2026, 10:00:00", at],
    ["4.3.2026 klo 10.00.00", at],
    ["2026. 03. 04. 10:00:00", at],
    ["2026.03.04. 10:00:00", at],
    ["2026. 3. 4. 오전 10:00:00", at],
    ["2026年3月4日 10:00:00", at],
    ["2026年3月4日 10時00分00秒", at],
    ["2026/3/4 午後2:00:05", at + 4 * 3600 + 5],
    ["Wed Mar 04 2026 10:00:00 GMT+0100 (Central European Standard Time)", at - 3600],
    ["Wed Mar 04 10:00:00 GMT+01:00 2026", at - 3600],
    ["Wed, 4 Mar 2026 10:00:00 +0100", at - 3600],
    ["2026-03-04 10:00:00 UTC+2", at - 7200],
    ["4 maja 2026 10:00:00", at + 61 * 86_400],
    ["4 říj 2026 10:00:00", at + 214 * 86_400],
  ])("%s", (text, epoch) => {
    const stamp = parseStamp(text);
    expect(stamp?.secondsOfDay).not.toBeNull();
    if (epoch !== null) expect(epochOfStamp(stamp!, true)).toBe(epoch);
  });

  test.each([
    ["PT0.5S", 0.5, 0.1],
    ["PT1M30S", 90, 1],
    ["P1DT2H", 93_600, 60],
    ["1h 02m 05s", 3725, 1],
    ["2m 5.5s", 125.5, 0.1],
    ["0d 00h 00m 01s", 1, 1],
    ["5 s", 5, 1],
  ])("%s since the start", (text, seconds, stepSeconds) => {
    expect(parseDuration(text)).toEqual({ seconds, stepSeconds });
  });

  test.each(["5", "m", "12.5 V", "P", "s", ""])("'%s' is no time since the start", (text) => {
    expect(parseDuration(text)).toBeNull();
  });

  test("seconds alone stand among minutes and seconds", () => {
    const row = (i: number) =>
      `${5 * i >= 60 ? `${Math.floor((5 * i) / 60)}m ` : ""}${(5 * i) % 60}s;${comma(`${truth(i)}`)}`;
    expectDrawn(`Elapsed;Volts\n${lines(row)}`, 5);
  });

  test("a day that has passed is written out", () => {
    const row = (i: number) => {
      const seconds = 86_390 + i;
      return `${seconds < 86_400 ? "" : "1 day, "}${clock(seconds % 86_400, ":").replace(/^0/, "")};${truth(i)}`;
    };
    expectDrawn(`Elapsed;Volts\n${lines(row)}`, 1, volts);
  });
});
