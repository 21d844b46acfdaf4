/**
 * What a full verification needs, and when an install passes. Readings are written by hand.
 */
import { describe, expect, it } from "vitest";
import type { ReadingNeeded } from "../../../analysis/diagnosis.ts";
import { checkProtection } from "../../../analysis/finding/protection.ts";
import {
  liveTests,
  type RoundEvidence,
  readingsNeeded,
  verifyInstall,
} from "../../../analysis/finding/verification.ts";
import type { Recording } from "../../../analysis/job/job.ts";
import type { Reading } from "../../../analysis/reading/reading.ts";
import type { LogEvent } from "../../../analysis/state/plateau.ts";
import { quantity } from "../../../analysis/uncertain.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";
import { keyedLevel } from "../../fixtures/keyed-level.ts";

const job = declaredJob();

const read = ({ from, to, engine, radio }: ReadingNeeded, fields: Partial<Reading> = {}): Reading =>
  keyedLevel({
    source: "typed reading",
    place: { quantity: "volts", from, to },
    engine,
    radio,
    value: 12,
    noise: 0.001,
    gain: 0.003,
    counts: 0.01,
    session: "s",
    logged: false,
    seesSource: true,
    ...fields,
  });

const complete: RoundEvidence = {
  job,
  readings: readingsNeeded(job).map((needed) => read(needed)),
  verdict: "sound",
  transmitDropVolts: quantity(0.33, 0.01),
  worstCaseMarginVolts: quantity(0.6, 0.05),
  protection: checkProtection(job, { openCircuitVolts: 12.6, ohms: 0.01 }),
  longestTransmitSeconds: 90,
  startedWithSetOn: true,
};
const passed = (fields: Partial<RoundEvidence>) => verifyInstall({ ...complete, ...fields }).verification.passed;

describe("readings needed", () => {
  it("are battery and load in four states, and both drops keyed with the engine off", () => {
    const needed = readingsNeeded(job).map(({ from, to, engine, radio }) => `${from} ${to} ${engine} ${radio}`);
    expect(needed).toEqual([
      "battery+ battery- off idle",
      "load+ load- off idle",
      "battery+ battery- off transmit",
      "load+ load- off transmit",
      "battery+ battery- running idle",
      "load+ load- running idle",
      "battery+ battery- running transmit",
      "load+ load- running transmit",
      "battery+ load+ off transmit",
      "load- battery- off transmit",
    ]);
  });

  it("leave out a stretch that ends at a point out of reach", () => {
    const loop = job.loop.map((item) =>
      "point" in item && item.point === "load+" ? { ...item, reach: "no" as const } : item,
    );
    expect(readingsNeeded({ ...job, loop }).some(({ from, to }) => from === "load+" || to === "load+")).toBe(false);
  });
});

describe("a verified install", () => {
  it("passes with everything read and nothing against it", () => {
    const { verification, remarks } = verifyInstall(complete);
    expect(verification).toMatchObject({ readingsMissing: [], passed: true });
    expect(verification.readingsTaken).toHaveLength(10);
    expect(remarks).toEqual([]);
  });

  it("takes probes the other way round, and a drop pieced together from parts of the stretch", () => {
    const supply: ReadingNeeded = { from: "battery+", to: "load+", engine: "off", radio: "transmit" };
    const others = complete.readings.filter(({ place }) => !(place.quantity === "volts" && place.to === "load+"));
    const pieces = [read({ ...supply, to: "fuse-out" }), read({ ...supply, from: "load+", to: "fuse-out" })];
    expect(passed({ readings: [...others, ...pieces] })).toBe(true);
    expect(passed({ readings: [...others, pieces[0]!] })).toBeNull();
    // round the rest of the loop is no drop measurement
    expect(passed({ readings: others })).toBeNull();
  });

  it.each([
    ["a held extreme", { held: "lowest" }],
    ["a test load", { drawnBy: "test-load" }],
    ["a jumper", { bypassed: ["feed"] }],
    ["an open contact", { disturbed: true }],
    ["an unknown engine state", { engine: null }],
  ] satisfies [string, Partial<Reading>][])("does not rest on a reading with %s", (_, fields) => {
    const [first, ...rest] = complete.readings;
    const result = verifyInstall({ ...complete, readings: [{ ...first!, ...fields }, ...rest] }).verification;
    expect(result.readingsMissing).toEqual([{ from: "battery+", to: "battery-", engine: "off", radio: "idle" }]);
    expect(result.passed).toBeNull();
  });

  it("fails on a fault, a drop above the limit, a worst case below the minimum, a broken protection check", () => {
    const unfused = { ...job, loop: job.loop.filter((item) => !("part" in item && item.part === "fuse")) };
    expect(passed({ verdict: "fault" })).toBe(false);
    expect(passed({ transmitDropVolts: quantity(0.62, 0.02) })).toBe(false);
    expect(passed({ worstCaseMarginVolts: quantity(-0.3, 0.05) })).toBe(false);
    expect(passed({ protection: checkProtection(unfused, null) })).toBe(false);
    expect(passed({ startedWithSetOn: false })).toBe(false);
  });

  it("stays open while something is uncertain or still to do", () => {
    expect(passed({ verdict: "undecided" })).toBeNull();
    expect(passed({ transmitDropVolts: quantity(0.49, 0.02) })).toBeNull();
    expect(passed({ transmitDropVolts: null })).toBeNull();
    expect(passed({ worstCaseMarginVolts: quantity(0.05, 0.1) })).toBeNull();
    expect(passed({ longestTransmitSeconds: 5 })).toBeNull();
    expect(passed({ startedWithSetOn: null })).toBeNull();
    expect(verifyInstall({ ...complete, longestTransmitSeconds: 5 }).remarks).toEqual([
      "one long transmission (60 s) is missing: heat shows joints that five seconds pass",
    ]);
  });

  it("is not held up by a warning from memory, nor by a margin that nobody declared", () => {
    const warned = complete.protection.map((line) => (line.check.startsWith("short") ? { ...line, pass: null } : line));
    expect(passed({ protection: warned })).toBe(true);
    expect(passed({ job: declaredJob({ load: { transmitAmps: 11.5 } }), worstCaseMarginVolts: null })).toBe(true);
    expect(passed({ worstCaseMarginVolts: null })).toBeNull();
  });
});

describe("live tests", () => {
  const recording: Recording = { file: "load.csv", round: "after", quantity: "volts", from: "load+", to: "load-" };
  const states = (...events: LogEvent[]) => ({
    plateaus: [],
    events,
    offsetSeconds: 0,
    offsetUncertaintySeconds: 0,
    driftPpm: 0,
    warnings: [],
  });

  it("are found in the logs: the longest keying, and a start that the load's volts stood", () => {
    const events: LogEvent[] = [
      { kind: "keyed", seconds: 10 },
      { kind: "released", seconds: 15 },
      { kind: "engine-start", seconds: 30, lowestVolts: 11.2 },
      { kind: "keyed", seconds: 60 },
      { kind: "released", seconds: 132 },
    ];
    expect(liveTests(job, "after", [{ recording, states: states(...events) }])).toEqual({
      longestTransmitSeconds: 72,
      startedWithSetOn: true,
    });
    const deep = events.map((event) => (event.kind === "engine-start" ? { ...event, lowestVolts: 8 } : event));
    expect(liveTests(job, "after", [{ recording, states: states(...deep) }]).startedWithSetOn).toBe(false);
  });

  it("may be typed or answered instead; nothing at all is not known", () => {
    expect(liveTests(job, "after", [])).toEqual({ longestTransmitSeconds: null, startedWithSetOn: null });
    const typed = declaredJob({
      readings: [{ round: "after", from: "load+", to: "load-", radio: "transmit", volts: 12, keyedSeconds: 65 }],
    });
    expect(liveTests(typed, "after", []).longestTransmitSeconds).toBe(65);
    expect(liveTests(typed, "before", []).longestTransmitSeconds).toBeNull();
    const answered = declaredJob({
      rounds: [{ round: "after", checks: { "long-transmission": true, "start-with-set-on": true } }],
    });
    expect(liveTests(answered, "after", [])).toEqual({ longestTransmitSeconds: 60, startedWithSetOn: true });
  });
});
