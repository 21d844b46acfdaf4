/**
 * The drop of a sound run: the sum of log-normal parts checked against a seeded draw of 200,000 loops,
 * the limits against `formats.md` section 2.
 */
import { describe, expect, it } from "vitest";
import { dropLimitVolts, expectedDropVolts, isUndersized, sumOfParts } from "../../../analysis/loop/expected-drop.ts";
import { expectedParts } from "../../../analysis/loop/expected-part.ts";
import { smallestConductor } from "../../../analysis/loop/smallest-conductor.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";

/** Mulberry32, then Box and Muller: standard normal draws from a seed. */
function normalDraws(seed: number): () => number {
  let state = seed;
  const uniform = () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
  return () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
}

describe("expected drop", () => {
  const parts = expectedParts(declaredJob());

  it("follows the current: twice the current, twice the drop", () => {
    expect(expectedDropVolts(parts, 23).value).toBeCloseTo(2 * expectedDropVolts(parts, 11.5).value, 12);
    expect(expectedDropVolts(parts, 0).value).toBe(0);
    expect(expectedDropVolts([], 10)).toEqual({ value: 0, low: 0, high: 0, uncertainty: 0 });
  });

  it("has the median and the 95 % interval of drawn loops", () => {
    const normal = normalDraws(20261125);
    const drops = Float64Array.from({ length: 200_000 }, () =>
      parts.reduce((volts, part) => volts + 11.5 * part.ohms * Math.exp(part.spread * normal()), 0),
    ).sort();
    const at = (share: number) => drops[Math.round(share * (drops.length - 1))]!;
    const drop = expectedDropVolts(parts, 11.5);
    const errors = [drop.value / at(0.5), drop.low / at(0.025), drop.high / at(0.975)].map((ratio) => ratio - 1);
    console.log(
      `expected drop: worst error of median and limits ${(100 * Math.max(...errors.map(Math.abs))).toFixed(1)} %`,
    );
    for (const error of errors) expect(Math.abs(error)).toBeLessThan(0.05);
  });

  it("is held against the limit declared in volts or per cent of 12 V, else 0.5 V", () => {
    expect(dropLimitVolts({ limits: {} })).toBe(0.5);
    expect(dropLimitVolts({ limits: { totalDropPercent: 3 } })).toBeCloseTo(0.36, 12);
    expect(dropLimitVolts({ limits: { totalDropVolts: 0.8, totalDropPercent: 3 } })).toBeCloseTo(0.36, 12);
    expect(dropLimitVolts({ limits: { totalDropVolts: 0.8 } })).toBe(0.8);
  });

  it("finds a run too light for its current, with a probability on the same side of one half", () => {
    expect(isUndersized(declaredJob())).toMatchObject({ undersized: false });
    const heavy = isUndersized(declaredJob({ load: { transmitAmps: 22 } }))!;
    expect(heavy.undersized).toBe(true);
    expect(heavy.probability).toBeGreaterThan(0.5);
    expect(isUndersized(declaredJob({ load: {} }))).toBeNull();
  });

  it("adds variances of a sum: two equal parts scatter by a root of two less", () => {
    const one = { ohms: 1, spread: 0.1 };
    expect(sumOfParts([one, one]).spread).toBeCloseTo(0.1 / Math.SQRT2, 3);
  });
});

describe("smallest conductor", () => {
  it("is the first size that keeps the limit, the one below does not", () => {
    const job = declaredJob({ load: { transmitAmps: 22 } });
    const { awg, squareMillimetres } = smallestConductor(job)!;
    expect(awg).toBe("8");
    expect(squareMillimetres).toBe(10);
  });

  it("is none where the other parts alone drop more, and unknown without a current", () => {
    const socket = { part: "connection" as const, id: "socket", style: "accessory-socket" as const, ohms: 0.1 };
    const job = declaredJob();
    expect(smallestConductor({ ...job, loop: [job.loop[0]!, socket, ...job.loop.slice(1)] })).toEqual({
      awg: null,
      squareMillimetres: null,
    });
    expect(smallestConductor(declaredJob({ load: {} }))).toBeNull();
  });
});
