/**
 * Every cell of the tables behind the protection checks, typed again here from `ampacity-and-fuses.md`:
 * 33 CFR 183.425 Table 5 (seven insulation classes and the 105 °C engine-space column), its bundle factors, ISO 8820-3
 * opening times and blade-fuse ohms (from memory), and 47 CFR's supply ranges.
 */
import { describe, expect, it } from "vitest";
import { adiabaticFactor, adiabaticSeconds } from "../../../analysis/finding/protection/adiabatic-limit.ts";
import { heatFactor, insulationClasses, wireAmpacity } from "../../../analysis/finding/protection/ampacity.ts";
import { longestOpeningSeconds } from "../../../analysis/finding/protection/fuse-band.ts";
import { faultCurrents } from "../../../analysis/finding/protection/short-circuit.ts";
import { allowedVolts, supplyRangeChecks } from "../../../analysis/finding/protection/supply-range.ts";
import type { Wire } from "../../../analysis/job/job.ts";
import { expectedParts } from "../../../analysis/loop/expected-part.ts";
import { fuseLinkOhms } from "../../../analysis/loop/fuse.ts";
import { quantity } from "../../../analysis/uncertain.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";
import { simulatedNodeVolts } from "../../fixtures/simulated-loop.ts";

const wire = (awg: Wire["awg"], fields: Partial<Wire> = {}): Wire => ({
  part: "wire",
  id: "w",
  metres: 1,
  awg,
  ...fields,
});

describe("33 CFR 183.425 Table 5", () => {
  // gauge, then amperes at 60, 75, 80, 90, 105, 125, 200 °C, then 105 °C in an engine space as printed
  const printed = `
    18   10  10  15  20  20  25  25  17
    16   15  15  20  25  25  30  35  21
    14   20  20  25  30  35  40  45  30
    12   25  25  35  40  45  50  55  38
    10   40  40  50  55  60  70  70  51
    8    55  65  70  70  80  90 100  68
    6    80  95 100 100 120 125 135 102
    4   105 125 130 135 160 170 180 136
    3   120 145 150 155 180 195 210 153
    2   140 170 175 180 210 225 240 178
    1   165 195 210 210 245 265 280 208
    1/0 195 230 245 245 285 305 325 242
    2/0 225 265 285 285 330 355 370 280
    3/0 260 310 330 330 385 410 430 327
    4/0 300 360 385 385 445 475 510 378`
    .trim()
    .split("\n")
    .map((line) => line.trim().split(/\s+/));

  it.each(printed)("%s AWG", (gauge, ...cells) => {
    const awg = (gauge.includes("/") ? gauge : Number(gauge)) as Wire["awg"];
    for (const [i, insulationCelsius] of insulationClasses.entries()) {
      const { lowAmps, highAmps } = wireAmpacity(wire(awg, { insulationCelsius }), 30);
      expect([lowAmps, highAmps], `${gauge} at ${insulationCelsius}`).toEqual([Number(cells[i]), Number(cells[i])]);
    }
    // the printed engine-space column is rounded or cut to whole amperes
    const hot = wireAmpacity(wire(awg, { insulationCelsius: 105, engineSpace: true }), 25);
    expect(Math.abs(hot.lowAmps - Number(cells[7]))).toBeLessThan(1);
    expect(hot.highAmps).toBe(hot.lowAmps);
  });

  it("agrees with the engine-space factors of its note 1 to 0.01 (all but 105 °C from memory)", () => {
    const factors: [number, number][] = [
      [60, 0.58],
      [75, 0.75],
      [80, 0.78],
      [90, 0.82],
      [105, 0.85],
      [125, 0.89],
    ];
    const errors = factors.map(([insulation, factor]) => Math.abs(heatFactor(insulation, 50) - factor));
    console.log(`engine-space factors: worst error ${Math.max(...errors).toFixed(4)}`);
    for (const error of errors) expect(error).toBeLessThan(0.01);
  });

  it.each([
    [1, 1],
    [2, 0.7],
    [3, 0.6],
    [5, 0.6],
    [6, 0.5],
    [23, 0.5],
    [24, 0.4],
    [40, 0.4],
  ])("with %i other wires beside it counts %f times, and may still be allowed whole", (bundledWith, factor) => {
    const { lowAmps, highAmps } = wireAmpacity(wire(10, { insulationCelsius: 105, bundledWith }), 30);
    expect(lowAmps).toBeCloseTo(60 * factor, 10);
    expect(highAmps).toBe(60);
  });

  it("has no answer below its first row, and a lower bound past its last", () => {
    expect(wireAmpacity(wire(20, { insulationCelsius: 105 }), 30)).toMatchObject({ lowAmps: 0, highAmps: 20 });
    const thick = wireAmpacity(wire(undefined, { squareMillimetres: 120, insulationCelsius: 105 }), 30);
    expect(thick).toMatchObject({ lowAmps: 445, highAmps: Number.POSITIVE_INFINITY });
    expect(wireAmpacity(wire(10, { insulationCelsius: 50 }), 30)).toMatchObject({ lowAmps: 0, highAmps: 40 });
    expect(wireAmpacity(wire(10, { insulationCelsius: 60 }), 70).lowAmps).toBe(0);
  });
});

describe("fuses", () => {
  // ISO 8820-3, from memory: times the rating → longest seconds
  it.each([
    ["blade", 1.1, Number.POSITIVE_INFINITY],
    ["blade", 1.35, 600],
    ["blade", 1.6, 50],
    ["blade", 2, 5],
    ["blade", 3.5, 0.5],
    ["blade", 6, 0.1],
    ["maxi-blade", 1.1, Number.POSITIVE_INFINITY],
    ["maxi-blade", 1.35, 1800],
    ["maxi-blade", 2, 60],
    ["maxi-blade", 3.5, 7],
    ["maxi-blade", 6, 1],
    // UL/CSA 248-14: 60 min at 135 %, 2 min at 200 %
    ["glass", 1, Number.POSITIVE_INFINITY],
    ["glass", 1.35, 3600],
    ["glass", 2, 120],
    ["bolt-down", 6, Number.POSITIVE_INFINITY],
  ] as const)("%s at %f times its rating opens within %f s", (style, times, seconds) => {
    const given = longestOpeningSeconds(style, 20, 20 * times);
    if (Number.isFinite(seconds)) expect(given).toBeCloseTo(seconds, 9);
    else expect(given).toBe(seconds);
  });

  it("open sooner the more flows, with a steady I²t past the band", () => {
    const times = Array.from({ length: 200 }, (_, i) => longestOpeningSeconds("blade", 10, 13.5 + i));
    for (let i = 1; i < times.length; i++) expect(times[i]!).toBeLessThan(times[i - 1]!);
    expect(longestOpeningSeconds("blade", 10, 120)).toBeCloseTo(0.1 / 4, 12);
  });

  it("have the ohms of the blade row, and 1 mV at 130 mA at 10 A (W44)", () => {
    const row: [number, number][] = [
      [1, 123],
      [2, 53.5],
      [3, 31.1],
      [5, 17.85],
      [7.5, 10.91],
      [10, 7.7],
      [15, 4.8],
      [20, 3.38],
      [25, 2.52],
      [30, 1.97],
      [40, 1.44],
    ];
    for (const [rating, milliohms] of row) expect(1000 * fuseLinkOhms("blade", rating)).toBeCloseTo(milliohms, 9);
    expect(0.001 / fuseLinkOhms("blade", 10)).toBeCloseTo(0.13, 3);
  });
});

describe("a dead short at the load", () => {
  it("heats copper by the factors that wiring rules print: 115 and 143 (IEC 60364-4-43, from memory)", () => {
    expect(adiabaticFactor("copper", 70, 160)).toBeCloseTo(115, 0);
    expect(adiabaticFactor("copper", 90, 250)).toBeCloseTo(143, 0);
    // aluminium: 76 and 94
    expect(adiabaticFactor("aluminium", 70, 160)).toBeCloseTo(76, 0);
    expect(adiabaticFactor("aluminium", 90, 250)).toBeCloseTo(94, 0);
    // 105 °C class: k = 226·√ln(394.5/339.5) = 87.6; (87.6 × 5.26 / 500)² = 0.849 s
    expect(adiabaticSeconds("copper", 5.26, 105, 500)).toBeCloseTo(0.849, 2);
  });

  it("draws what the circuit simulator gives, at the load and right behind the fuse", async () => {
    const job = declaredJob();
    const source = { openCircuitVolts: 12.6, ohms: 0.01 };
    const { atLoadAmps, atFuseAmps } = faultCurrents(job, source);
    const parts = expectedParts(job);
    const shortAfter = (count: number) => ({
      ground: "0",
      branches: [
        { kind: "volts" as const, from: "emf", to: "0", volts: 12.6 },
        { kind: "ohms" as const, from: "emf", to: "n0", ohms: 0.01 },
        ...parts.slice(0, count).map(({ ohms }, i) => ({
          kind: "ohms" as const,
          from: `n${i}`,
          to: i === count - 1 ? "0" : `n${i + 1}`,
          ohms,
        })),
      ],
    });
    const behindFuse = parts.findIndex(({ kind }) => kind === "fuse") + 1;
    const solved = await simulatedNodeVolts([shortAfter(parts.length), shortAfter(behindFuse)]);
    const amps = solved.map((volts) => (12.6 - volts.get("n0")!) / 0.01);
    expect(atLoadAmps).toBeCloseTo(amps[0]!, 4);
    expect(atFuseAmps.get("main-fuse")).toBeCloseTo(amps[1]!, 4);
  });

  it("is limited by a converter's own limit", () => {
    const job = declaredJob({ source: { kind: "converter", limitAmps: 30 } });
    expect(faultCurrents(job, { openCircuitVolts: 13.6, ohms: 0.01 }).atLoadAmps).toBe(30);
  });

  it("draws 50 A from 10 V behind 0.2 Ω (W33)", () => {
    const source = { openCircuitVolts: 10, ohms: 0.2 };
    const loop = declaredJob().loop.filter((item) => !("part" in item) || item.part === "load");
    expect(faultCurrents(declaredJob({ loop }), source).atLoadAmps).toBeCloseTo(50, 9);
  });
});

describe("volts at the load", () => {
  it.each([
    [12, 0.1, 10.8, 13.2],
    [13.6, 0.1, 12.2, 15.0],
    [13.8, 0.15, 11.73, 15.87],
  ])("rated %f V, %f either way: %f to %f V (47 CFR)", (rated, share, low, high) => {
    const digits = share === 0.1 ? 1 : 2;
    expect(allowedVolts(rated, share).low).toBeCloseTo(low, digits);
    expect(allowedVolts(rated, share).high).toBeCloseTo(high, digits);
  });

  it("fail an install only where the job names the rule that binds it", () => {
    const load = { transmitAmps: 11.5, ratedVolts: 13.6 };
    const at = (volts: number, rules?: string) =>
      supplyRangeChecks(declaredJob({ load, setting: "boat", ...(rules ? { rules } : {}) }), quantity(volts, 0.02))[0]!
        .pass;
    expect(at(12.5, "47 CFR 80")).toBe(true);
    expect(at(12.25, "47 CFR 80")).toBeNull();
    expect(at(11.9, "47 CFR 80")).toBe(false);
    expect(at(11.9)).toBe(true);
    expect(at(11.2)).toBeNull();
    expect(supplyRangeChecks(declaredJob({ load }), null)).toEqual([]);
  });
});
