// Exports that were invented from the list of what meters write, before the reader was looked at: each read wrongly once.
// Truth: the log of drawn-export.ts; a reading differs from it by nothing, or the log is refused.
// Sources: open-formats.md section 2 (sentences and their checksum: the exclusive or of the characters between $ and *).
import { describe, expect, test } from "vitest";
import type { Recording } from "../../../analysis/job/job.ts";
import { Problem } from "../../../analysis/problem.ts";
import {
  amps,
  ampsTruth,
  clock,
  comma,
  expectDrawn,
  half,
  keyed,
  lines,
  march4,
  read,
  rows,
  ten,
  truth,
  volts,
} from "./drawn-export.ts";

function sentence(said: string): string {
  const sum = [...said].reduce((so, letter) => so ^ letter.charCodeAt(0), 0);
  return `$${said}*${sum.toString(16).toUpperCase().padStart(2, "0")}`;
}

describe("labelled rows", () => {
  test.each([
    ["t=0.5 u=12.55 i=0.6", (i: number) => `t=${half(i)} u=${truth(i)} i=${ampsTruth(i)}`],
    ["time=0.5s, volts=12.55V", (i: number) => `time=${half(i)}s, volts=${truth(i)}V, amps=${ampsTruth(i)}A`],
    ["t=0,5;U=12,55", (i: number) => `t=${comma(half(i))};U=${comma(`${truth(i)}`)};I=${comma(`${ampsTruth(i)}`)}`],
    [
      "t_ms=500,v_mV=12550",
      (i: number) => `t_ms=${500 * i},v_mV=${Math.round(1000 * truth(i))},i_mA=${Math.round(1000 * ampsTruth(i))}`,
    ],
    [
      "Set volts = 12.55",
      (i: number) => `Time = ${half(i)} s, Set volts = ${truth(i)} V, Feed amps = ${ampsTruth(i)} A`,
    ],
    [
      "in any order",
      (i: number) =>
        i % 3 === 0 ? `A=${ampsTruth(i)} t=${half(i)} V=${truth(i)}` : `t=${half(i)} V=${truth(i)} A=${ampsTruth(i)}`,
    ],
    [
      "with a remark between",
      (i: number) => `t=${half(i)} V=${truth(i)} A=${ampsTruth(i)}${i === 9 ? "\nnote: keyed now" : ""}`,
    ],
  ])("%s", (_, row) => {
    expectDrawn(lines(row), 0.5);
    expectDrawn(lines(row), 0.5, amps);
  });

  test("behind a stamp", () => {
    const log = expectDrawn(
      lines((i) => `2026-03-04T${clock(ten + i, ":")}Z V=${truth(i)} A=${ampsTruth(i)}`),
      1,
    );
    expect(log.samples.startEpochSeconds).toBe(march4 + ten);
  });

  test("a gap mark is a gap, and a label that is missing too", () => {
    const [log] = read("t=0.0 V=12.55\nt=0.5 V=OL\nt=1.0 V=12.56\nt=1.5\nt=2.0 V=12.57\nt=2.5 V=12.58\n");
    expect([...log!.samples.values]).toEqual([12.55, 12.56, 12.57, 12.58]);
    expect([...log!.samples.seconds]).toEqual([0, 1, 2, 2.5]);
  });

  test("a column of flags beside plain numbers is none", () => {
    expectDrawn(`Time (s),Voltage (V),Flags\n${lines((i) => `${half(i)},${truth(i)},key=${keyed(i) ? 1 : 0}`)}`, 0.5);
  });
});

describe("what stands above and between", () => {
  test("a blank before PM parts no cells where every row is parted by tabs", () => {
    const row = (i: number) =>
      `0${clock(6 * 3600 + i / 2, ":").slice(1)}.${5 * (i % 2)} PM\t${comma(`${truth(i)}`)}\tAUTO`;
    expectDrawn(`Time\tMain/V\tMode\n${lines(row)}`, 0.5);
    expectDrawn(`Data export\nMeter\thandheld\nTime\tReading\tMode\n${lines(row)}`, 0.5);
    const few = Array.from({ length: 9 }, (_, i) => row(i)).join("\n");
    const above = "Data export\nMeter\thandheld\nInterval\t0.5 s\nSamples\t9\n\n";
    const [log] = read(`${above}"Time"\t"Voltage [V]"\t"Mode"\n${few}\n\nEnd of data\n`);
    expect(log!.samples.values).toHaveLength(9);
    expect(log!.samples.values[8]).toBeCloseTo(truth(8), 6);
  });

  test("the meter's name over rows of three is no header", () => {
    const row = (i: number) => `${i + 1},${(march4 + ten + i / 2).toFixed(3)},${truth(i)}`;
    const log = expectDrawn(`Data export\nMeter,handheld\n${lines(row)}`, 0.5);
    expect(log.samples.startEpochSeconds).toBe(march4 + ten);
  });
});

describe("sentences", () => {
  const said = (i: number) => sentence(`IIXDR,U,${truth(i)},V,MAIN`);

  test.each([
    ["seconds before", (i: number) => `${half(i)} ${said(i)}`],
    ["seconds and a comma before", (i: number) => `${half(i)},${said(i)}`],
    ["no checksum and no name", (i: number) => `${half(i)} $WIXDR,U,0${truth(i)},V,`],
    [
      "two readings in one",
      (i: number) => `${half(i)} ${sentence(`IIXDR,U,${truth(i)},V,MAIN,I,${ampsTruth(i)},A,LOAD`)}`,
    ],
    [
      "other sentences between",
      (i: number) => `${half(i)} ${said(i)}\n${half(i)} ${sentence(`GPGLL,4916.45,N,12311.12,W,22540${i % 10},A`)}`,
    ],
  ])("%s", (_, row) => {
    expectDrawn(lines(row), 0.5);
  });

  test("the published ones are believed, and one whose checksum is wrong is left out", () => {
    const [log] = read(
      "0 $IIXDR,U,13.0,V,MAIN*5A\n1 $IIXDR,U,19.0,V,MAIN*5A\n2 $IIXDR,U,13.1,V,MAIN*5B\n3 $IIXDR,U,13.0,V,MAIN*5A\n",
    );
    expect([...log!.samples.values]).toEqual([13, 13.1, 13]);
    expect(log!.rejected).toEqual([{ reason: "another sentence, or a wrong checksum", count: 1, firstLine: 2 }]);
  });
});

describe("headers and units", () => {
  test("units stand above the names", () => {
    const text = `s,mV,A\nTime,Voltage,Current\n${lines((i) => `${half(i)},${Math.round(1000 * truth(i))},${ampsTruth(i)}`)}`;
    expectDrawn(text, 0.5);
    expectDrawn(text, 0.5, amps);
  });

  test("the unit is the last word of a name written in one", () => {
    expectDrawn(`timeMs,batteryMillivolts\n${lines((i) => `${500 * i},${Math.round(1000 * truth(i))}`)}`, 0.5);
  });

  test("the column of units stands left of its numbers", () => {
    expectDrawn(`Time (s),Unit,Reading\n${lines((i) => `${half(i)},mV,${Math.round(1000 * truth(i))}`)}`, 0.5);
  });

  test("of two displays the one in DC is meant", () => {
    expectDrawn(
      `Time (s),Main,Main Unit,Sub,Sub Unit\n${lines((i) => `${half(i)},${truth(i)},VDC,0.0${i % 10},VAC`)}`,
      0.5,
    );
  });

  test("below another header the rows are another table's, until the first one's comes again", () => {
    const row = (i: number) => `${half(i)},${truth(i)}`;
    const table = (order: readonly number[]) => `Time (s),Voltage (V)\n${lines(row, order)}`;
    const other = "Channel 2\nTime (s),Current (A)\n0.0,0.6\n0.5,11.4\n\n";
    const log = expectDrawn(table(rows.slice(0, 25)) + other + table(rows.slice(25)), 0.5);
    expect(log.rejected).toContainEqual({ reason: "below another header", count: 3, firstLine: 28 });
  });
});

describe("what would be read wrongly is refused", () => {
  const refusal = (text: string, recording: Recording = volts): string => {
    try {
      const [log] = read(text, recording);
      return `read as ${log!.samples.values.slice(0, 3)}`;
    } catch (error) {
      expect(error).toBeInstanceOf(Problem);
      return (error as Problem).message;
    }
  };

  test.each([
    ["seconds", (i: number) => `${i}`],
    ["stamps", (i: number) => `2026-03-04 ${clock(ten + i, ":")}`],
  ])("a comma between the cells and in the numbers, behind %s", (_, stamp) => {
    const text = `Time,Voltage (V)\n${lines((i) => `${stamp(i)},${comma(truth(i).toFixed(2))}`)}`;
    expect(refusal(text)).toMatch(/comma .*12,55.*decimal point/);
  });

  test("thousands of volts without a unit", () => {
    const text = `Time (s),Reading\n${lines((i) => `${half(i)},${Math.round(1000 * truth(i))}`)}`;
    expect(refusal(text)).toMatch(/no unit .* 12550 .*'unit'/);
    expectDrawn(text, 0.5, { ...volts, unit: "mV" });
  });

  test("a unit whose prefix stands in a column of its own", () => {
    const text = `Time (s),Reading,Prefix,Unit\n${lines((i) => `${half(i)},${Math.round(1000 * truth(i))},m,V`)}`;
    expect(refusal(text)).toMatch(/12550 V cannot be in a 12 V system.*'unit'/);
  });

  test.each(["dBV", "VAC+DC", "m/s", "ppm"])("%s", (unit) => {
    expect(refusal(`Time (s),Level (${unit})\n${lines((i) => `${half(i)},${truth(i)}`)}`)).toContain(unit);
  });

  test.each(["x10 mV", "0.01 V"])("counts of %s", (unit) => {
    expect(
      refusal(`Time (s),Voltage (${unit})\n${lines((i) => `${half(i)},${Math.round(100 * truth(i))}`)}`),
    ).toContain(unit);
  });

  test("a delimiter that the recording states and the log does not use", () => {
    const text = `Time (s),Voltage (V)\n${lines((i) => `${half(i)},${truth(i)}`)}`;
    expect(refusal(text, { ...volts, delimiter: "#" })).toMatch(
      /delimiter: .*cut at the '#' that the recording states/,
    );
  });

  test("remarks with numbers in them", () => {
    expect(refusal(lines((i) => `# remark ${i} of the meter's ${3 * i}`))).toContain("no rows of numbers");
  });

  test("times that are none, and words where numbers should be", () => {
    expect(refusal(`Time (s),Voltage (V)\n${lines((i) => `${i + 1}e300,${truth(i)}`)}`)).toMatch(
      /Time \(s\), timeColumn/,
    );
    const words = refusal(`Time (s),Volts,Voltage (V)\n${lines((i) => `${half(i)},${i},about twelve`)}`, {
      ...volts,
      quantity: "amps",
    });
    expect(words).toContain("should have a column in amps");
    expect(refusal(`Time (s),Voltage (V)\n${lines((i) => `${half(i)},about twelve`)}`)).toContain(
      "holds 'about twelve'",
    );
  });

  test("channels that take turns in one column", () => {
    const text = `Time (s),Signal,Value (V)\n${lines((i) => `${half(i)},Battery,12.6\n${half(i)},Set,${truth(i)}`)}`;
    expect(refusal(text)).toContain("Battery, Set");
    const sentences = lines(
      (i) => `${half(i)} ${sentence("IIXDR,U,12.6,V,MAIN")}\n${half(i)} ${sentence(`IIXDR,U,${truth(i)},V,SET`)}`,
    );
    expect(refusal(sentences)).toContain("MAIN, SET");
  });

  test("and a meter's state that changes row by row is no channel", () => {
    const state = ["AUTO", "HOLD", "LOW"];
    expectDrawn(`Time (s),State,Voltage (V)\n${lines((i) => `${half(i)},${state[i % 3]},${truth(i)}`)}`, 0.5);
  });
});

describe("columns of one recorder", () => {
  const every = { ...volts, interval: 0.5 };

  test("a value with its unit beside it, then bare extremes, and no time", () => {
    const text = `DC,Min,Max\n${lines((i) => `${truth(i)} V,${truth(i) - 0.02},${truth(i) + 0.02}`)}`;
    expect(read(text, every)[0]!.samples.column).toBe("DC");
    expectDrawn(text, 0.5, every);
  });

  test("a header of two words over numbers with their unit", () => {
    expect(read(`Volts DC\n${lines((i) => `${Math.round(1000 * truth(i))} mV`)}`, every)[0]!.samples.column).toBe(
      "Volts DC",
    );
  });

  test("the recorder's name above the header of a single column", () => {
    expect(read(`Logger export v2\nDC V\n${lines((i) => `${truth(i)}`)}`, every)[0]!.samples.column).toBe("DC V");
    expect(read(`Voltage\nV\n${lines((i) => `${truth(i)}`)}`, every)[0]!.samples.column).toBe("Voltage");
  });

  test("a message between numbered rows is counted", () => {
    const text = `No.,Time (s),DC\n${lines((i) => `${i === 20 ? "*** no answer\n" : ""}${i + 1},${half(i)},${truth(i)} V`)}`;
    expect(read(text, volts)[0]!.rejected).toEqual([{ reason: "remark", count: 1, firstLine: 22 }]);
  });
});
