/**
 * Whether a repair held: the fault is gone and the volts have come, each by itself is not enough; and when nobody can tell.
 */
import { describe, expect, test } from "vitest";
import type { Job } from "../../../analysis/job/job.ts";
import { badStud, diagnosed, jobOf, loopWith, type TrueRound } from "./metered-round.ts";

const held = (rounds: readonly TrueRound[], fields: Partial<Job> = {}) =>
  diagnosed(rounds, fields).diagnosis.comparison!.repairHeld;
const before: TrueRound = { round: "before", ohms: badStud };

describe("a repair held", () => {
  test("where the joint is sound and the set has its volts", () => {
    expect(held([before, { round: "after" }])).toBe(true);
  });

  test("on another day too: a battery at another charge, another meter, a set turned down", () => {
    expect(held([before, { round: "after", restVolts: 12.35 }])).toBe(true);
    expect(held([before, { round: "after", meter: "m2", gain: 0.0008 }])).toBe(true);
    expect(held([before, { round: "after", transmitAmps: 8 }])).toBe(true);
  });

  test("where the set's own volts are all that was read afterwards, or in both rounds", () => {
    expect(held([before, { round: "after", stretches: [] }])).toBe(true);
    const atSet = jobOf([before, { round: "after" }]).readings.filter(
      ({ from, to }) => from === "load+" && to === "load-",
    );
    expect(held([], { readings: atSet })).toBe(true);
  });
});

describe("a repair did not hold", () => {
  test("where the joint is as it was, or half mended", () => {
    expect(held([before, { round: "after", ohms: badStud }])).toBe(false);
    expect(held([before, { round: "after", ohms: { "ground-stud": 0.03 } }])).toBe(false);
  });

  test("where the joint is sound and another part takes the volts that it gave back", () => {
    expect(held([before, { round: "after", ohms: { "plug-positive": 0.06 } }])).toBe(false);
  });

  test("where a battery stands higher that day and hides that the joint is as bad", () => {
    expect(held([before, { round: "after", ohms: badStud, restVolts: 12.9 }])).toBe(false);
  });
});

describe("a battery that was flat", () => {
  const flat: TrueRound = { round: "before", restVolts: 11.7 };

  test("is mended where it is charged and stands the load", () => {
    expect(held([flat, { round: "after", restVolts: 12.65 }])).toBe(true);
  });

  test("is not while it is flat, nor where it is charged and falls as far under load", () => {
    expect(held([flat, { round: "after", restVolts: 11.75 }])).toBe(false);
    expect(held([flat, { round: "after", restVolts: 12.65, batteryOhms: 0.08 }])).toBe(false);
  });
});

describe("of two faults at once", () => {
  const both: TrueRound = { round: "before", ohms: badStud, batteryOhms: 0.08 };

  test("neither is mended by leaving them, both are by mending both", () => {
    expect(held([both, { ...both, round: "after" }])).toBe(false);
    expect(held([both, { round: "after" }])).toBe(true);
  });
});

describe("a run that was too light", () => {
  const thin = { loop: loopWith("feed", { awg: 16 }) };
  const light: TrueRound = { round: "before", ohms: { feed: 0.061 } };

  test("is mended by the wire that was laid in its place", () => {
    const laid = { ...thin, rounds: [{ round: "after", changed: [{ id: "feed", awg: 8 }] }] };
    expect(held([light, { round: "after", ohms: { feed: 0.0096 } }], laid)).toBe(true);
  });

  test("is not mended by leaving it", () => {
    expect(held([light, { ...light, round: "after" }], thin)).toBe(false);
  });
});

describe("nobody can tell", () => {
  test("where nothing was wrong", () => {
    expect(held([{ round: "before" }, { round: "after" }])).toBeNull();
  });

  test("where the earlier round read nothing that speaks of a fault, and the later one is sound", () => {
    const clamp = jobOf([before]).readings.filter(({ amps }) => amps !== undefined);
    const load = { round: "before", meter: "m1", from: "load+", to: "load-", volts: 12.5 };
    for (const earlier of [clamp, [load], [{ ...load, engine: "off", radio: "idle" } as const]]) {
      const followedBy = (after: TrueRound) => held([], { readings: [...earlier, ...jobOf([after]).readings] });
      expect(followedBy({ round: "after" })).toBeNull();
      // a joint that is bad now has not been mended, whatever was read before
      expect(followedBy({ round: "after", ohms: badStud })).toBe(false);
    }
  });

  test("nor does it tell more that every joint was exchanged in the meantime", () => {
    const joints = ["battery-lug", "plug-positive", "plug-negative", "ground-stud", "battery-strap", "main-fuse"];
    const rounds = [{ round: "after", changed: joints.map((id) => ({ id, label: "new" })) }];
    const load = { round: "before", meter: "m1", from: "load+", to: "load-", volts: 12.5 };
    const readings = [load, ...jobOf([{ round: "after" }]).readings];
    expect(held([], { readings, rounds })).toBeNull();
  });

  test("where the later round was not keyed, or no reading says in what state it was taken", () => {
    const job = jobOf([before]);
    const after = { round: "after", meter: "m1", from: "load+", to: "load-", volts: 12.55 };
    for (const state of [{ engine: "off", radio: "idle" } as const, {}])
      expect(held([], { readings: [...job.readings, { ...after, ...state }] })).toBeNull();
  });
});
