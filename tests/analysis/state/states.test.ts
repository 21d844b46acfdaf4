/**
 * What findStates makes of small rounds drawn by hand: one named test for each case that once went wrong or well could.
 * All figures are invented; the recorded ones are those of ../shared/open-data (see its README for the source).
 */
import { existsSync, readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import type { Recording } from "../../../analysis/job/job.ts";
import { readLog } from "../../../analysis/log/log-reader.ts";
import type { Samples } from "../../../analysis/log/sample.ts";
import { findStates } from "../../../analysis/state/states.ts";
import { chanceOf } from "../../fixtures/chance.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";
import { drawnLog, levelLog } from "../../fixtures/drawn-log.ts";
import { at, battery, clamp, ground, keyedAt, kinds, load, noisy, recorded, states } from "./hand-drawn-round.ts";

describe("radio", () => {
  test.each([
    ["battery volts", battery, 12.6, 12.48, 0.003],
    ["load volts", load, 12.55, 11.9, 0.003],
    ["load volts, probes swapped in the job", { from: "load-", to: "load+" }, -12.55, -11.9, 0.003],
    ["a drop", ground, 0.03, 0.6, 0.002],
    ["a drop, probes the other way round", { from: "battery-", to: "load-" }, -0.03, -0.6, 0.002],
    ["a drop of a few counts", ground, 0.001, 0.012, 0.0005],
    ["a clamp", clamp, 0.6, 11.4, 0.05],
    ["a clamp put on the wrong way round", clamp, -0.6, -11.4, 0.05],
  ])("keying is found in %s alone", (_, place, idle, keyed, noise) => {
    const [found] = states({}, recorded(place, levelLog(keyedAt(idle, keyed), 60, { noise: noisy(1, noise) })));
    expect(kinds(found!)).toEqual(["keyed", "released", "keyed", "released", "keyed", "released"]);
    for (const [i, seconds] of [10, 15, 22, 30, 41, 47].entries()) {
      expect(Math.abs(found!.events[i]!.seconds - seconds)).toBeLessThan(0.15);
    }
    expect(at(found!, 25)).toMatchObject({ radio: "transmit" });
    expect(Math.abs(at(found!, 25)!.value - keyed)).toBeLessThan(Math.max(noise, 0.001));
    expect(at(found!, 35)).toMatchObject({ radio: "idle" });
  });

  test("a fan at the battery is no transmission where the load's drop is logged with it", () => {
    const fan = (level: number, less: number) => ({ ...keyedAt(level, level - 0.1), 50: level - less, 68: level });
    const [volts, drop] = states(
      {},
      recorded(battery, levelLog(fan(12.6, 0.11), 80, { noise: noisy(2, 0.003) })),
      recorded(ground, levelLog(keyedAt(0.02, 0.4), 80, { noise: noisy(3, 0.002) })),
    );
    expect(at(volts!, 60)).toMatchObject({ radio: "idle" });
    expect(kinds(volts!).filter((kind) => kind === "keyed")).toHaveLength(3);
    expect(kinds(drop!).filter((kind) => kind === "keyed")).toHaveLength(3);
  });

  test("a fan at the battery moves battery and load alike and is no transmission", () => {
    const with_fan = (idle: number, keyed: number) => ({ ...keyedAt(idle, keyed), 50: idle - 0.11, 68: idle });
    const [, volts] = states(
      {},
      recorded(battery, levelLog(with_fan(12.6, 12.48), 80, { noise: noisy(4, 0.003) })),
      recorded(load, levelLog(with_fan(12.57, 11.9), 80, { noise: noisy(5, 0.003) })),
    );
    expect(at(volts!, 60)).toMatchObject({ radio: "idle" });
  });

  test("a log that begins and ends keyed", () => {
    const [found] = states({}, recorded(clamp, levelLog({ 0: 11.4, 6: 0.6, 20: 11.4, 28: 0.6, 40: 11.4 }, 46)));
    expect(found!.plateaus.map((plateau) => plateau.radio)).toEqual([
      "transmit",
      "idle",
      "transmit",
      "idle",
      "transmit",
    ]);
  });

  test("a clamp log of one level is told by the declared current", () => {
    expect(states({}, recorded(clamp, levelLog({ 0: 11.2 }, 20)))[0]!.plateaus[0]!.radio).toBe("transmit");
    expect(states({}, recorded(clamp, levelLog({ 0: 0.6 }, 20)))[0]!.plateaus[0]!.radio).toBe("idle");
    expect(states({}, recorded(clamp, levelLog({ 0: 4.5 }, 20)))[0]!.plateaus[0]!.radio).toBeNull();
  });

  test("a drop log of one level is undecided", () => {
    expect(states({}, recorded(ground, levelLog({ 0: 0.2 }, 90)))[0]!.plateaus[0]!.radio).toBeNull();
  });

  test("what is declared for the whole log stands", () => {
    const [found] = states({}, recorded(load, levelLog({ 0: 11.8 }, 30), { radio: "transmit", engine: "off" }));
    expect(found!.plateaus[0]).toMatchObject({ radio: "transmit", engine: "off" });
  });

  test("a weak battery that sags and comes back slowly", () => {
    const sagging = (i: number) => {
      const t = i * 0.1;
      const bursts = [10, 30, 50].map((begin) => {
        if (t < begin) return 0;
        const loaded = Math.min(t - begin, 9);
        const rested = Math.max(t - begin - 9, 0);
        return 0.35 * (1 - Math.exp(-loaded / 4)) * Math.exp(-rested / 8);
      });
      return -bursts.reduce((a, b) => a + b);
    };
    const keyed = { 0: 12.5, 10: 12, 19: 12.5, 30: 12, 39: 12.5, 50: 12, 59: 12.5 };
    const log = levelLog(keyed, 80, { noise: (i) => sagging(i) + 0.002 * (-1) ** i });
    const [found] = states({}, recorded(battery, log));
    expect(kinds(found!)).toEqual(["keyed", "released", "keyed", "released", "keyed", "released"]);
  });

  test("a bad joint that warms while keyed is one plateau that drifts", () => {
    const warming = (i: number) => (i >= 100 && i < 250 ? 0.004 * (i - 100) * 0.1 : 0);
    const log = levelLog({ 0: 0.03, 10: 0.5, 25: 0.03, 40: 0.5, 45: 0.03, 60: 0.5, 66: 0.03 }, 80, {
      noise: (i) => warming(i) + 0.001 * (-1) ** i,
    });
    const [found] = states({}, recorded(ground, log));
    const plateau = at(found!, 15)!;
    expect(plateau).toMatchObject({ radio: "transmit", disturbance: null });
    expect(plateau.drift).toBeGreaterThan(0.04);
    expect(kinds(found!)).not.toContain("contact-break");
  });

  test("speech on a set whose current follows the voice is one transmission", () => {
    const chance = chanceOf(8);
    const voice = Array.from({ length: 1000 }, () => (chance.yes(0.25) ? 0.05 : chance.between(0.3, 1)));
    const talking = (i: number) => (i >= 200 && i < 320) || (i >= 500 && i < 640);
    const log = levelLog({ 0: 1 }, 90, { resolution: 0.01, noise: (i) => (talking(i) ? 20 * voice[i >> 1]! : 0) });
    const [found] = states({ load: { idleAmps: 1, transmitAmps: 21, emission: "ssb" } }, recorded(clamp, log));
    expect(kinds(found!)).toEqual(["keyed", "released", "keyed", "released"]);
  });
});

describe("engine", () => {
  const cranked = (before: number, after: number) => ({
    ...keyedAt(before, before - 0.12),
    55: 8.6,
    55.6: 9.8,
    56.5: after - 0.4,
    57: after,
    70: after - 0.05,
    78: after,
  });

  test("a crank dip and a rise are an engine start", () => {
    const [found] = states({}, recorded(battery, levelLog(cranked(12.5, 14.2), 95, { noise: noisy(11, 0.004) })));
    const start = found!.events.find((event) => event.kind === "engine-start")!;
    expect(start.seconds).toBeGreaterThan(54.9);
    expect(start.seconds).toBeLessThan(57.2);
    expect(start.lowestVolts).toBeLessThan(9);
    expect(at(found!, 50)!.engine).toBe("off");
    expect(at(found!, 90)!.engine).toBe("running");
  });

  test("an engine that starts and does not charge is running", () => {
    const [found] = states({}, recorded(battery, levelLog(cranked(12.5, 12.3), 95, { noise: noisy(12, 0.004) })));
    expect(at(found!, 50)!.engine).toBe("off");
    expect(at(found!, 90)!.engine).toBe("running");
  });

  test.each([
    ["rested", 12.4, "off"],
    ["flat", 11.7, "off"],
    ["charged", 14.1, "running"],
    ["overcharged", 15.9, "running"],
    ["between the two", 13.05, null],
  ])("a battery log that stands %s", (_, volts, engine) => {
    const [found] = states(
      {},
      recorded(battery, levelLog(keyedAt(volts, volts - 0.1), 60, { noise: noisy(13, 0.003) })),
    );
    expect(at(found!, 5)!.engine).toBe(engine);
  });

  test("a lithium battery at rest is not taken for a running engine", () => {
    const log = recorded(battery, levelLog(keyedAt(13.3, 13.2), 60, { noise: noisy(14, 0.003) }));
    expect(at(states({ battery: { type: "lithium" } }, log)[0]!, 5)!.engine).not.toBe("running");
  });

  test("a drop log alone says nothing of the engine, beside a battery log it knows", () => {
    const drop = recorded(ground, levelLog(keyedAt(0.02, 0.5), 60, { noise: noisy(15, 0.002) }));
    expect(states({}, drop)[0]!.plateaus.every((plateau) => plateau.engine === null)).toBe(true);
    const volts = recorded(battery, levelLog(keyedAt(12.6, 12.45), 60, { noise: noisy(16, 0.003) }));
    expect(states({}, volts, drop)[1]!.plateaus.every((plateau) => plateau.engine === "off")).toBe(true);
  });

  test("a converter's steady volts do not tell of an engine", () => {
    const log = recorded(load, levelLog(keyedAt(13.8, 13.2), 60));
    expect(at(states({ source: { kind: "converter" } }, log)[0]!, 5)!.engine).toBeNull();
  });
});

describe("while keyed", () => {
  /** keyed 10–24, 40–54 s with the load letting go for 0.8 s in every 2 s */
  function cycling(idle: number, keyed: number, gone: number): Record<number, number> {
    const levels: Record<number, number> = { 0: idle };
    for (const begin of [10, 40]) {
      for (let t = begin; t < begin + 14; t += 2) {
        levels[t] = keyed;
        levels[t + 1.2] = gone;
      }
      levels[begin + 14] = idle;
    }
    return levels;
  }

  test("a load that resets is one transmission, and its resets carry the volts at which it let go", () => {
    const job = { load: { idleAmps: 0.6, transmitAmps: 11.5, minimumVolts: 11 } };
    const [volts, amps] = states(
      job,
      recorded(load, levelLog(cycling(12.4, 10.9, 12.45), 70, { noise: noisy(21, 0.004) })),
      recorded(clamp, levelLog(cycling(0.6, 11.4, 0.1), 70, { noise: noisy(22, 0.05), resolution: 0.01 })),
    );
    for (const found of [volts!, amps!]) {
      expect(kinds(found).filter((kind) => kind === "keyed")).toHaveLength(2);
      expect(kinds(found).filter((kind) => kind === "load-reset").length).toBeGreaterThanOrEqual(12);
      expect(kinds(found)).not.toContain("contact-break");
    }
    const reset = volts!.events.find((event) => event.kind === "load-reset")!;
    expect(Math.abs(reset.lowestVolts! - 10.9)).toBeLessThan(0.02);
    // What stands for a reset never counts as the transmit level.
    const undisturbed = volts!.plateaus.filter((p) => p.radio === "transmit" && p.disturbance === null);
    for (const plateau of undisturbed) expect(Math.abs(plateau.value - 10.9)).toBeLessThan(0.05);
  });

  test("a contact that shifts gives every concurrent log a level of the disturbance", () => {
    const shift = (idle: number, keyed: number, shifted: number) => ({
      ...keyedAt(idle, keyed),
      25: shifted,
      27: keyed,
    });
    const found = states(
      {},
      recorded(battery, levelLog(shift(12.6, 12.45, 12.452), 60, { noise: noisy(23, 0.002) })),
      recorded(load, levelLog(shift(12.57, 12.0, 11.4), 60, { noise: noisy(24, 0.003) })),
      recorded(clamp, levelLog(shift(0.6, 11.4, 11.2), 60, { noise: noisy(25, 0.02), resolution: 0.01 })),
    );
    for (const log of found) {
      expect(at(log, 26)).toMatchObject({ radio: "transmit", disturbance: "contact-break" });
      expect(at(log, 23.5)).toMatchObject({ radio: "transmit", disturbance: null });
      expect(kinds(log).filter((kind) => kind === "keyed")).toHaveLength(3);
      expect(kinds(log).filter((kind) => kind === "contact-break")).toHaveLength(1);
    }
    expect(Math.abs(at(found[1]!, 26)!.value - 11.4)).toBeLessThan(0.01);
  });

  test("a contact that opens is no release", () => {
    const open = (idle: number, keyed: number, opened: number) => ({
      ...keyedAt(idle, keyed),
      24: opened,
      26.5: keyed,
    });
    const [volts] = states({}, recorded(load, levelLog(open(12.5, 11.9, 0.01), 60, { noise: noisy(26, 0.004) })));
    expect(kinds(volts!)).toEqual(["keyed", "released", "keyed", "contact-break", "released", "keyed", "released"]);
  });

  test("a fan switched during a transmission is no broken contact", () => {
    const fan = (idle: number, keyed: number) => ({ ...keyedAt(idle, keyed), 25: keyed - 0.15, 30: idle - 0.15 });
    const [volts] = states(
      {},
      recorded(battery, levelLog({ ...fan(12.6, 12.45), 41: 12.3, 47: 12.45 }, 60, { noise: noisy(27, 0.003) })),
      recorded(load, levelLog({ ...fan(12.57, 11.9), 41: 11.75, 47: 12.42 }, 60, { noise: noisy(28, 0.003) })),
    );
    expect(kinds(volts!)).not.toContain("contact-break");
  });
});

describe("one clock", () => {
  const edges = { noise: noisy(31, 0.003) };
  const volts = (shift: number, seconds = 60) => levelLog(keyedAt(12.57, 11.9, shift), seconds, edges);

  test("the offset counts from each log's first sample where there are no dates", () => {
    const [first, second] = states(
      {},
      recorded(load, volts(3)),
      recorded(ground, levelLog(keyedAt(0.02, 0.5), 57, { intervalSeconds: 0.25, noise: noisy(32, 0.002) })),
    );
    expect(first).toMatchObject({ offsetSeconds: 0, driftPpm: 0 });
    // The second log's first sample was taken 3 s into the first log.
    expect(Math.abs(second!.offsetSeconds! + 3)).toBeLessThan(0.2);
    expect(Math.abs(second!.offsetSeconds! + 3)).toBeLessThan(2 * second!.offsetUncertaintySeconds!);
  });

  test("stamps that are hours apart are clocks that differ, not logs taken apart", () => {
    const dated = (samples: Samples, startEpochSeconds: number) => ({ ...samples, startEpochSeconds });
    const [, second] = states(
      {},
      recorded(load, dated(volts(3), 1.79e9)),
      recorded(ground, dated(levelLog(keyedAt(0.02, 0.5), 57, { noise: noisy(33, 0.002) }), 1.79e9 + 7200)),
    );
    expect(Math.abs(second!.offsetSeconds! - (7200 - 3))).toBeLessThan(0.1);
  });

  test("logs declared as not concurrent have no offset, and the warning says why", () => {
    const [, second] = states(
      {},
      recorded(load, volts(0), { concurrent: false }),
      recorded(ground, levelLog(keyedAt(0.02, 0.5), 60), { concurrent: false }),
    );
    expect(second!.offsetSeconds).toBeNull();
    expect(second!.warnings.join()).toMatch(/not taken at the same time/);
    expect(kinds(second!)).toContain("keyed");
  });

  test("periodic keying that fits at two offsets is said to be ambiguous", () => {
    const periodic = (idle: number, keyed: number, first: number, count: number) => {
      const levels: Record<number, number> = { 0: idle };
      for (let k = 0; k < count; k++) {
        levels[first + 10 * k] = keyed;
        levels[first + 10 * k + 5] = idle;
      }
      return levels;
    };
    const [, second] = states(
      {},
      recorded(load, levelLog(periodic(12.5, 11.9, 5, 12), 125, edges)),
      recorded(ground, levelLog(periodic(0.02, 0.5, 5, 4), 45, { noise: noisy(34, 0.002) })),
    );
    expect(second!.offsetSeconds).toBeNull();
    expect(second!.warnings.join()).toMatch(/more than one offset/);
  });

  test("two columns of one file share a clock, the later first sample counted", () => {
    const late = levelLog(keyedAt(0.02, 0.5, -4), 56, { noise: noisy(35, 0.002) });
    const [, second] = states(
      {},
      recorded(load, volts(0), { file: "both.csv", column: "CH1" }),
      recorded(ground, { ...late, startClockSeconds: 4 }, { file: "both.csv", column: "CH2" }),
    );
    expect(second!.offsetSeconds).toBeCloseTo(-4, 6);
    expect(second!.driftPpm).toBeCloseTo(0, 6);
  });

  test("a log without a number has no plateaus and says so", () => {
    const empty = levelLog({ 0: 0 }, 0);
    const found = states({}, recorded(load, volts(0)), recorded(ground, empty));
    expect(found[1]).toMatchObject({ plateaus: [], events: [], offsetSeconds: null });
    expect(found[1]!.warnings.join()).toMatch(/no number/);
  });
});

test("one sample per state is still a reading", () => {
  const { amps } = drawnLog(`
    seconds   0    10    20    30    40    50    60    70    80    90   100
    amps    0.6   0.6  11.4   0.6  11.5   0.6   0.6  11.4   0.6  11.4   0.6`);
  const [found] = states({}, recorded(clamp, amps!));
  expect(found!.plateaus.filter((plateau) => plateau.radio === "transmit").map((plateau) => plateau.value)).toEqual([
    11.4, 11.5, 11.4, 11.4,
  ]);
});

test.each([
  ["b0025", 170],
  ["b0028", 320],
])("recorded pulsed discharge %s: every load pulse is found, none invented", (cell, pulses) => {
  const file = `pulsed-discharge-${cell}.csv`;
  const path = `../shared/open-data/${file}`;
  if (!existsSync(path)) return console.log(`left out: ${path} is not there`);
  const recordings = [
    { file, round: "r", quantity: "volts", ...battery, column: "Voltage_measured" },
    { file, round: "r", quantity: "volts", ...load, column: "Voltage_load" },
    { file, round: "r", quantity: "amps", ...clamp, column: "Current_measured" },
  ] as Recording[];
  const logs = readLog(file, readFileSync(path), recordings).map(({ samples }, i) => ({
    recording: recordings[i]!,
    samples,
  }));
  const found = findStates(declaredJob({ recordings, load: {} }), logs);
  for (const log of found) {
    expect(kinds(log).filter((kind) => kind === "keyed")).toHaveLength(pulses);
    expect(kinds(log).filter((kind) => kind !== "keyed" && kind !== "released")).toHaveLength(0);
    // One lithium cell: the bands of a 12 V battery do not apply.
    expect(log.plateaus.every((plateau) => plateau.engine === null)).toBe(true);
  }
});
