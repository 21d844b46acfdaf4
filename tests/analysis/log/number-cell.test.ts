/**
 * Numbers, gap marks and units as meters write them. SCPI-1999 / IEEE 488.2 forms NR1, NR2, NR3 and its marks
 * 9.9E37 (infinity) and 9.91E37 (no number): open-formats, section 1.
 */
import * as fc from "fast-check";
import { describe, expect, it } from "vitest";
import { parseNumberCell } from "../../../analysis/log/number-cell.ts";
import { parseUnit, toSi } from "../../../analysis/log/unit.ts";

describe("a number in a cell", () => {
  const written: [string, "." | ",", number, number][] = [
    ["273", ".", 273, 0],
    ["0.273", ".", 0.273, 3],
    ["2.73E+2", ".", 273, 0],
    ["+1.26100000E+01", ".", 12.61, 7],
    ["-.5", ".", -0.5, 1],
    ["12.", ".", 12, 0],
    ["12,61", ",", 12.61, 2],
    ["1 261,5", ",", 1261.5, 1],
    ["1\u202f261\u202f000", ",", 1_261_000, 0],
    ["1.261,5", ",", 1261.5, 1],
    ["1,261.5", ".", 1261.5, 1],
    ["1'261.5", ".", 1261.5, 1],
    ["\u221212.5", ".", -12.5, 1],
    ["- 12.5", ".", -12.5, 1],
  ];
  for (const [text, decimal, value, decimals] of written) {
    it(`reads ${text} with decimal ${decimal}`, () => {
      expect(parseNumberCell(text, decimal)).toMatchObject({ kind: "number", value, decimals });
    });
  }

  it("reads back any number to the last bit", () => {
    fc.assert(
      fc.property(
        fc.double({ noNaN: true, min: -1e6, max: 1e6 }).filter((value) => value !== 0),
        (value) => {
          expect(parseNumberCell(String(value), ".")).toMatchObject({ kind: "number", value });
          expect(parseNumberCell(String(value).replace(".", ","), ",")).toMatchObject({ kind: "number", value });
        },
      ),
      { seed: 7 },
    );
  });

  it("takes no mark for a number", () => {
    for (const mark of [
      "OL",
      "-OL",
      "+OL",
      "O.L",
      "0.L",
      "OVLD",
      "OVLOAD",
      "OVFLOW",
      "overrange",
      "inf",
      "-Infinity",
      "9.9E37",
      "9.91E+37",
      "-9.9E+37",
      "1e999",
      ">60",
      "OL mV",
    ]) {
      expect(parseNumberCell(mark, "."), mark).toEqual({ kind: "gap", reason: "over-range mark" });
    }
    for (const mark of ["---", "--.--", "- - -", "NaN", "N/A", "#N/A", "null", "--- V"]) {
      expect(parseNumberCell(mark, "."), mark).toEqual({ kind: "gap", reason: "mark for no number" });
    }
    expect(parseNumberCell("  ", ".")).toEqual({ kind: "gap", reason: "empty cell" });
  });

  it("reads no number where there is none for certain", () => {
    for (const text of ["12.6.1", "12,61", "10:00:00", "2026-03-04", "12.6x", "abc", "1 26", "12;5", "V"]) {
      expect(parseNumberCell(text, ".").kind, text).toBe("unreadable");
    }
  });
});

describe("a unit", () => {
  it("is read in every way of writing it", () => {
    const ways: [string, string, number][] = [
      ["V", "volts", 1],
      ["mV", "volts", 0.001],
      ["µV", "volts", 1e-6],
      ["uV", "volts", 1e-6],
      ["VDC", "volts", 1],
      ["DCV", "volts", 1],
      ["V DC", "volts", 1],
      ["DC mV", "volts", 0.001],
      ["[V]", "volts", 1],
      ["(mV)", "volts", 0.001],
      ["Volts", "volts", 1],
      ["MV", "volts", 0.001],
      ["A", "amps", 1],
      ["mA", "amps", 0.001],
      ["μA", "amps", 1e-6],
      ["Amps", "amps", 1],
      ["A DC", "amps", 1],
      ["ADC", "amps", 1],
      ["s", "seconds", 1],
      ["ms", "seconds", 0.001],
      ["min", "seconds", 60],
      ["h", "seconds", 3600],
      ["seconds", "seconds", 1],
    ];
    for (const [text, quantity, factor] of ways) {
      const unit = parseUnit(text);
      expect(unit, text).toMatchObject({ quantity, alternating: false });
      expect(toSi(1, unit!), text).toBe(factor);
    }
  });

  it("is named where it is something else, and where it alternates", () => {
    for (const text of ["kΩ", "Ω", "Ohm", "MΩ", "°C", "Hz", "W", "Ah", "%", "nF"])
      expect(parseUnit(text)?.quantity, text).toBe("other");
    for (const text of ["VAC", "V AC", "ACV", "AC mV", "V~", "AAC", "V rms", "V AC+DC"])
      expect(parseUnit(text)?.alternating, text).toBe(true);
    for (const text of ["", "Voltage", "U (V)", "AUTO", "12", "DC"]) expect(parseUnit(text), text).toBeNull();
  });

  it("keeps millivolts exact where volts can be", () => {
    for (let count = 0; count < 20_000; count++) expect(toSi(count, parseUnit("mV")!)).toBe(Number(`${count}e-3`));
  });
});
