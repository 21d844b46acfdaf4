/** What header cells of many meters say; the headers are invented after the habits of the trade. */
import { describe, expect, it } from "vitest";
import { parseHeaderCell } from "../../../analysis/log/header-cell.ts";
import { readPreamble } from "../../../analysis/log/preamble.ts";

describe("a header cell", () => {
  const units: [string, string | null, number][] = [
    ["Voltage (V)", "volts", 1],
    ["U bat [mV]", "volts", 1000],
    ["U/V", "volts", 1],
    ["Spannung, mV", "volts", 1000],
    ["voltage_V", "volts", 1],
    ["CH1_mV", "volts", 1000],
    ["VDC", "volts", 1],
    ["Voltage (V) DC", "volts", 1],
    ["I (A)", "amps", 1],
    ["Load A", "amps", 1],
    ["Strom / mA", "amps", 1000],
    ["t/s", "seconds", 1],
    ["Time_ms", "seconds", 1000],
    ["t_s", "seconds", 1],
    ["Elapsed [min]", "seconds", 1],
    ["Temp (°C)", "other", 1],
    ["R (kΩ)", "other", 1],
    ["Meter A", null, 0],
    ["handheld A", null, 0],
    ["Voltage", null, 0],
    ["Voltage min", null, 0],
    ["CH1", null, 0],
    ["Battery A", null, 0],
  ];
  for (const [text, quantity, divide] of units) {
    it(`${text}: ${quantity ?? "no unit"}`, () => {
      const { unit } = parseHeaderCell(text);
      expect(unit?.quantity ?? null).toBe(quantity);
      if (unit !== null) expect(unit.divide).toBe(divide);
    });
  }

  it("tells time, counts, extremes and means from values", () => {
    const roles = (role: string, texts: string[]) => {
      for (const text of texts) expect(parseHeaderCell(text).role, text).toBe(role);
    };
    roles("time", [
      "Time",
      "Timestamp",
      "Date/Time",
      "Uhrzeit",
      "Datum",
      "t",
      "t (s)",
      "Elapsed (ms)",
      "seconds",
      "Unix time",
      "Heure",
      "Millis",
    ]);
    roles("index", ["No.", "#", "Index", "Sample", "Nr", "Record No", "Sample number"]);
    roles("lowest", ["Min", "Min (V)", "Voltage min", "Minimum [V]", "Lowest V"]);
    roles("highest", ["Max (V)", "Voltage peak", "Maximum"]);
    roles("mean", ["Avg (V)", "Average", "Mean (A)", "Mittelwert"]);
    roles("value", ["Voltage (V)", "Reading", "CH1", "Value", "Amps", "Wert"]);
  });

  it("knows AC by the header", () => {
    for (const text of ["V AC", "AC Voltage (V)", "VAC", "Voltage (V AC)"])
      expect(parseHeaderCell(text).unit?.alternating, text).toBe(true);
    for (const text of ["V DC", "Voltage (V)", "DC Voltage (V)"])
      expect(parseHeaderCell(text).unit?.alternating, text).toBe(false);
  });
});

describe("a preamble", () => {
  it("states interval or rate in many ways, or not at all", () => {
    const interval = (line: string) => readPreamble(["Meter export", line]).intervalSeconds;
    expect(interval("Sample interval: 0.5 s")).toBe(0.5);
    expect(interval("Interval (ms);500")).toBe(0.5);
    expect(interval("Logging interval,00:00:05")).toBe(5);
    expect(interval("# Sampling rate = 10 Hz")).toBe(0.1);
    expect(interval("Sample rate\t2 kSa/s") ?? interval("Sample rate: 2 kHz")).toBe(0.0005);
    expect(interval('"Messintervall","0,2 s"')).toBe(0.2);
    expect(interval("Interval: 2")).toBe(2);
    expect(interval("Rate: 2")).toBeNull();
    expect(interval("Range: 60 V")).toBeNull();
    expect(interval("Interval: off")).toBeNull();
  });

  it("states the start where it can be read one way", () => {
    const start = (...lines: string[]) => readPreamble(lines).startEpochSeconds;
    const at = Date.UTC(2026, 2, 14, 10, 0, 0) / 1000;
    expect(start("Start time: 2026-03-14 10:00:00")).toBe(at);
    expect(start("Date,03/14/2026", "Time,10:00:00")).toBe(at);
    expect(start("Start: 03/04/2026 10:00:00")).toBeNull();
    expect(start("Serial: 20260314")).toBeNull();
  });
});
