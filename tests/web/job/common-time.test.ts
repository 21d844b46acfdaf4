/** Clocks as the diagnosis gives them: offset is this clock minus the first, as stamped where both carry dates. */
import { describe, expect, it } from "vitest";
import { ownClock } from "../../../web/job/common-time.ts";

describe("common time", () => {
  it("counts from each log's first sample where dates are missing", () => {
    const clock = ownClock({ offsetSeconds: -3.5, driftPpm: 0, startEpochSeconds: null }, 1000);
    expect(clock.toOwn(10)).toBe(6.5);
    expect(clock.toCommon(6.5)).toBe(10);
  });

  it("allows for the stamps where both carry dates: begun 60 s later by its stamp, 3600 s ahead", () => {
    const clock = ownClock({ offsetSeconds: 3600, driftPpm: 0, startEpochSeconds: 4660 }, 1000);
    expect(clock.toOwn(60)).toBe(0);
  });

  it("runs fast by its drift", () => {
    const clock = ownClock({ offsetSeconds: 0, driftPpm: 100, startEpochSeconds: null }, null);
    expect(clock.toOwn(10_000)).toBeCloseTo(10_001, 9);
    expect(clock.toCommon(clock.toOwn(1234))).toBeCloseTo(1234, 9);
  });

  it("starts at its own first sample where it could not be aligned", () => {
    const clock = ownClock({ offsetSeconds: null, driftPpm: null, startEpochSeconds: 99_999 }, 1000);
    expect(clock.aligned).toBe(false);
    expect(clock.toCommon(0)).toBe(0);
  });
});
