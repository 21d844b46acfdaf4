/**
 * Ohms of real leads from logs nobody here made: the pulsed discharges of cells B0025 and B0028 (B. Saha and K. Goebel
 * (2007), "Battery Data Set", NASA Prognostics Data Repository), read from `../shared/open-data`.
 * Cell volts minus load-end volts against current is a drop measurement; every sample is a plateau of its own.
 * Our two-state ohms are held against simple-statistics' straight line through the same samples.
 */
import { existsSync, readFileSync } from "node:fs";
import Papa from "papaparse";
import { linearRegression } from "simple-statistics";
import { describe, expect, it } from "vitest";
import { divide, standardUncertainty, subtract, type Uncertain, uncertain } from "../../analysis/uncertain.ts";

const folder = new URL("../../../shared/open-data/", import.meta.url);
const present = existsSync(folder);
if (!present) console.log("recorded leads: left out, ../shared/open-data is not there");

interface Row {
  readonly cellVolts: number;
  readonly loadVolts: number;
  /** out of the cell */
  readonly amps: number;
}

function rowsOf(file: string): Row[] {
  const { data } = Papa.parse<Record<string, number>>(readFileSync(new URL(file, folder), "utf8"), {
    header: true,
    dynamicTyping: true,
    skipEmptyLines: true,
  });
  return data.map((row) => ({
    cellVolts: row.Voltage_measured!,
    loadVolts: row.Voltage_load!,
    amps: -row.Current_measured!,
  }));
}

/** With its own switch open the load's end hangs free and reads exactly 0 V: no drop is measured then. */
const connected = (row: Row) => row.loadVolts > 0;
const isOn = (row: Row) => row.amps > 0.5;

/** Mean with its standard uncertainty; volts and amps of one row share their cause. */
function meanOf(rows: readonly Row[], value: (row: Row) => number, state: string): Uncertain {
  const n = rows.length;
  const mean = rows.reduce((sum, row) => sum + value(row), 0) / n;
  const parts = rows.map((row, k) => [`${state} ${k}`, (value(row) - mean) / Math.sqrt(n * (n - 1))] as const);
  return uncertain(mean, Object.fromEntries(parts));
}

/** Change of `value` from off to on over the change of current. */
function twoStateOhms(rows: readonly Row[], value: (row: Row) => number): Uncertain {
  const [on, off] = [rows.filter(isOn), rows.filter((row) => !isOn(row))];
  const change = (quantity: (row: Row) => number) => subtract(meanOf(on, quantity, "on"), meanOf(off, quantity, "off"));
  return divide(
    change(value),
    change((row) => row.amps),
  );
}

describe.runIf(present)("leads of a recorded discharge", () => {
  it.each(["pulsed-discharge-b0025.csv", "pulsed-discharge-b0028.csv"])("%s", (file) => {
    const all = rowsOf(file);
    expect(all).toHaveLength(641);
    const rows = all.filter(connected);
    const drop = (row: Row) => row.cellVolts - row.loadVolts;
    const ohms = twoStateOhms(rows, drop);
    const line = linearRegression(rows.map((row) => [row.amps, drop(row)]));
    const u = standardUncertainty(ohms);
    console.log(
      `${file}: leads ${ohms.value.toFixed(5)} ± ${u.toFixed(5)} Ω by two states, ${line.m.toFixed(5)} Ω by straight line (${rows.length} of ${all.length} samples)`,
    );
    expect(u).toBeLessThan(0.01 * ohms.value);
    expect(Math.abs(ohms.value - line.m)).toBeLessThan(u);
  });

  it.each([
    ["pulsed-discharge-b0025.csv", 0.0505 + 0.0774],
    ["pulsed-discharge-b0028.csv", 0.0818 + 0.1068],
  ])("%s: the cell's own resistance at 10 s is of the order of Re + Rct = %f Ω", (file, published) => {
    const rows = rowsOf(file).filter(connected);
    // a pulse against the mean of its neighbours at rest: the cell's slow fall cancels
    const steps = rows.flatMap((row, k) => {
      const [before, after] = [rows[k - 1], rows[k + 1]];
      if (!isOn(row) || !before || !after || isOn(before) || isOn(after)) return [];
      return [((before.cellVolts + after.cellVolts) / 2 - row.cellVolts) / row.amps];
    });
    const ohms = steps.reduce((a, b) => a + b) / steps.length;
    console.log(`${file}: cell ${ohms.toFixed(4)} Ω from ${steps.length} pulses; Re + Rct ${published.toFixed(4)} Ω`);
    expect(steps.length).toBeGreaterThan(50);
    expect(ohms / published).toBeGreaterThan(1 / 3);
    expect(ohms / published).toBeLessThan(3);
  });
});
