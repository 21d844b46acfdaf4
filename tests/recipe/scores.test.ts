/**
 * The benchmark's own figures on cases worked by hand (no outside source): a judge that miscounts judges nobody.
 */
import { describe, expect, it } from "vitest";
import { isExact, isWithin, judge } from "../bench/accuracy/judge.ts";
import { brierScore, expectedCalibrationError, logScore, quantile } from "../bench/accuracy/scores.ts";
import type { TrueFault, TrueRound } from "../fixtures/recipe/truth.ts";

const joint: TrueFault = {
  cause: "high-resistance-connection",
  parts: ["plug"],
  group: ["plug", "lug"],
  extraOhms: 0.05,
  dropVolts: 0.5,
  soundVolts: 0.01,
};
const round = (faults: TrueFault[]): TrueRound => ({
  round: "before",
  faults,
  partOhms: {},
  source: { openCircuitVolts: 12.6, ohms: 0.01, runningVolts: null },
  states: [],
  mendedLoadVolts: 12,
  recordings: [],
});
const finding = (parts: string[], probability = 0.9) => ({ cause: joint.cause, parts, probability });

describe("scores", () => {
  it("measures calibration bin by bin", () => {
    const forecasts = [
      { probability: 0.8, right: true },
      { probability: 0.8, right: false },
      { probability: 0.1, right: false },
      { probability: 0.1, right: false },
    ];
    expect(expectedCalibrationError(forecasts)).toBeCloseTo(0.5 * 0.3 + 0.5 * 0.1, 12);
    expect(brierScore(forecasts)).toBeCloseTo((0.04 + 0.64 + 0.01 + 0.01) / 4, 12);
  });

  it("charges the log score for what the truth was not given, with a floor", () => {
    expect(logScore([1, 1])).toBeCloseTo(0, 12);
    expect(logScore([0])).toBeCloseTo(-Math.log(1e-4), 12);
  });

  it("takes quantiles of what it has", () => {
    expect(quantile([3, 1, 2], 0.5)).toBe(2);
  });
});

describe("judge", () => {
  it("asks for the whole group, and knows a part of it that holds the true part", () => {
    expect(isExact(finding(["lug", "plug"]), joint)).toBe(true);
    expect(isExact(finding(["plug"]), joint)).toBe(false);
    expect(isWithin(finding(["plug"]), joint)).toBe(true);
    expect(isWithin(finding(["lug"]), joint)).toBe(false);
    expect(isWithin(finding(["plug", "fuse"]), joint)).toBe(false);
  });

  it("tells a fault missed from a false alarm, and wants both of two", () => {
    const sound = { ...joint, cause: "supply-sound" as const, parts: [], group: [] };
    const saysSound = { cause: "supply-sound", parts: [], probability: 0.9 };
    expect(judge(round([joint]), [saysSound], "sound").missed).toBe(true);
    expect(judge(round([sound]), [finding(["plug", "lug"])], "fault").falseAlarm).toBe(true);
    const other = { ...joint, parts: ["stud"], group: ["stud"] };
    expect(judge(round([joint, other]), [finding(["plug", "lug"])], "fault").bothFound).toBe(false);
    expect(judge(round([joint, other]), [finding(["plug", "lug"]), finding(["stud"], 0.6)], "fault").bothFound).toBe(
      true,
    );
  });
});
