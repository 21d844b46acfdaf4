// Lines as a terminal captures them, and exports of phones set to other digits; each refused once.
// Truth: the log of drawn-export.ts.
import { describe, expect, test } from "vitest";
import { withAsciiDigits } from "../../../analysis/log/local-digits.ts";
import { clock, expectDrawn, half, lines, march4, ten, truth } from "./drawn-export.ts";

describe("a time in brackets before each line", () => {
  test("date and time", () => {
    const row = (i: number) => `[2026-03-04 ${clock(ten + i / 2, ":", 3)}] ${truth(i)} V`;
    expect(expectDrawn(lines(row), 0.5).samples.startEpochSeconds).toBe(march4 + ten);
  });
  test.each([
    ["seconds", (i: number) => `(${half(i)}) ${truth(i)} V`],
    ["time of day and a label", (i: number) => `[${clock(ten + i / 2, ":", 1)}] V: ${truth(i)}`],
    [
      "date, time of day and two labels",
      (i: number) => `[2026-03-04 ${clock(ten + i / 2, ":", 1)}] V: ${truth(i)} A: 0.6`,
    ],
    ["a prompt between", (i: number) => `[${clock(ten + i / 2, ":", 1)}] -> ${truth(i)} V`],
  ])("%s", (_, row) => {
    expectDrawn(lines(row), 0.5);
  });
});

describe("digits of other scripts", () => {
  const shifted = (text: string, first: number) =>
    text.replace(/\d/g, (digit) => String.fromCharCode(first + Number(digit)));
  test.each([
    ["Arabic-Indic", 0x660, "٫"],
    ["Persian", 0x6f0, "٫"],
    ["full width", 0xff10, "．"],
  ])("%s", (_, first, point) => {
    const row = (i: number) => shifted(`${half(i)};${truth(i)}`, first).replaceAll(".", point);
    expectDrawn(`Time (s);Voltage (V)\n${lines(row)}`, 0.5);
  });
  test("a full-width clock", () => {
    const row = (i: number) =>
      `${shifted(clock(ten + i, ":"), 0xff10).replaceAll(":", "：")},${shifted(`${truth(i)}`, 0xff10)}`;
    expectDrawn(`時刻,電圧 (V)\n${lines(row).replaceAll(".", "．")}`, 1);
  });
  test("a header keeps its own", () => {
    expect(withAsciiDigits("ＣＨ１,電圧")).toBe("ＣＨ１,電圧");
    expect(withAsciiDigits("-٣;١٢٫٦")).toBe("-3;12.6");
    expect(withAsciiDigits("١٢٬٦١٠٫٥;−٣")).toBe("12'610.5;−3");
  });
});
