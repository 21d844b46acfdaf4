/**
 * The published worked examples W01 to W47 (`../shared/reference/worked-examples.md`) that concern what the program
 * computes, each by the function that computes it. Tolerance: half the last printed digit, or as the line says.
 *
 * Elsewhere: W24 conductors.test.ts; W26 to W30, W33, W34, W38 simulated-loop.test.ts; W33 (short circuit) and W44
 * protection-tables.test.ts; W48 metrology.test.ts; W49 with the live meters.
 * Left out, with the reason: W04, W05 and W08 (arithmetic on a given Ω/kft, strands in mils and a bar of pure metal:
 * nothing of ours), W12's first step and W13 (altitude and bundle charts of aircraft harnesses, not used), W18 (power is
 * not given out), W23 and W25 (tungsten, nichrome), W35 (cells in parallel), W36 and W37 (the same formula as W26 at
 * milliamperes), W39 to W42 (meter loading and shunts: loops of milliohms do not load a meter), W43 and W46 (radio
 * power and efficiency are not computed).
 */
import { describe, expect, it } from "vitest";
import { faultCurrents } from "../../analysis/finding/protection/short-circuit.ts";
import { checkProtection } from "../../analysis/finding/protection.ts";
import type { Job, LoopItem, Wire } from "../../analysis/job/job.ts";
import { expectedDropVolts, isUndersized } from "../../analysis/loop/expected-drop.ts";
import { type ExpectedPart, expectedParts } from "../../analysis/loop/expected-part.ts";
import { smallestConductor, smallestGauge } from "../../analysis/loop/smallest-conductor.ts";
import { resistivityAt, squareMillimetresPerCircularMil, wireOhms } from "../../analysis/loop/wire.ts";
import { divide, subtract, uncertain } from "../../analysis/uncertain.ts";
import { declaredJob } from "../fixtures/declared-job.ts";

const metresPerFoot = 0.3048;
const wire = (size: Partial<Wire>, feet: number): Wire => ({
  part: "wire",
  id: "feed",
  metres: feet * metresPerFoot,
  ...size,
});

/** A loop of wires alone: `out` before the load, `back` after it. */
function wiredJob(out: LoopItem, back: LoopItem | null, fields: Partial<Job>): Job {
  const loop: LoopItem[] = [
    { point: "battery+" },
    out,
    { point: "load+" },
    { part: "load" },
    { point: "load-" },
    ...(back === null ? [] : [back]),
    { point: "battery-" },
  ];
  return declaredJob({ loop, ...fields });
}

/** A part of exactly known ohms. */
const exact = (ohms: number): ExpectedPart => ({
  id: "part",
  kind: "connection",
  leg: "supply",
  ohms,
  spread: 1e-9,
  source: "",
});

describe("wire resistance", () => {
  it("W01: 20 m of 12 AWG copper, 0.104 Ω", () => {
    expect(wireOhms({ part: "wire", id: "w", awg: 12, metres: 20, strands: 1 }, 20)).toBeCloseTo(0.104, 3);
  });

  it("W02, W03: 2500 ft of No. 12 and 6000 ft of No. 7 at 25 °C, 4.05 and 3.05 Ω", () => {
    expect(Math.abs(wireOhms(wire({ awg: 12, strands: 1 }, 2500), 25) - 4.05)).toBeLessThan(0.005 + 0.0005 * 2.5);
    expect(Math.abs(wireOhms(wire({ awg: 7, strands: 1 }, 6000), 25) - 3.05)).toBeLessThan(0.005);
  });

  it("W06: 116 035 circular mils take 2/0, 1/0 is too small", () => {
    expect(smallestGauge(116_035 * squareMillimetresPerCircularMil, "awg")).toBe("2/0");
  });

  it("W07: two leads of 5.651 Ω on 230 V, short-circuit current 20.352 A", () => {
    const lead = (id: string): LoopItem => ({ ...wire({ awg: 14 }, 2300), id, ohms: 5.6505 });
    const job = wiredJob(lead("out"), lead("back"), {});
    // the book rounds 11.301 Ω first
    expect(faultCurrents(job, { openCircuitVolts: 230, ohms: 0 }).atLoadAmps).toBeCloseTo(20.352, 3);
  });

  it("W12: 15.5 ft at 20 °C are 9.5 ft at 182 °C for the same drop", () => {
    const ratio = resistivityAt("copper", 20) / resistivityAt("copper", 181.6);
    expect(15.5 * ratio).toBeCloseTo(9.48, 1);
  });

  it("W22: 15 Ω leads at 35 °C: 0.79 V each, 12.42 V at 250 Ω on 14 V", () => {
    const warm = (15 * resistivityAt("copper", 35)) / resistivityAt("copper", 20);
    const amps = 14 / (250 + 2 * warm);
    expect(expectedDropVolts([exact(warm)], amps).value).toBeCloseTo(0.79, 2);
    expect(14 - expectedDropVolts([exact(warm), exact(warm)], amps).value).toBeCloseTo(12.42, 1);
  });
});

describe("drop of a run", () => {
  it("W09: No. 16, 100 ft out and back, 4 A at 75 °C, 4.0 V", () => {
    const back = { ...wire({ awg: 16 }, 100), id: "back" };
    const job = wiredJob(wire({ awg: 16 }, 100), back, { ambientCelsius: 75 });
    const drop = expectedDropVolts(expectedParts(job), 4).value;
    expect(drop).toBeCloseTo(4.0, 1);
    // 2 × 100 ft × 4.99 Ω/kft × 4 A = 3.992 V
    expect(Math.abs(drop / 3.992 - 1)).toBeLessThan(0.005);
  });

  it.each([
    // W10: AC 43.13-1B table 11-7; the third prints 3.60 for 3.555
    [0.00044, 107, 20, 0.942],
    [0.00028, 90, 20, 0.504],
    [0.00202, 88, 20, 3.555],
    [0.00306, 100, 20, 6.12],
    // W11: table 11-8; the second prints 0.366, a misprint for 0.491
    [0.00126, 39, 20, 0.98],
    [0.00126, 19.5, 20, 0.491],
    [0.00126, 156, 20, 3.93],
    [0.00126, 273, 20, 6.88],
    // W17: extension cords; W45: charging path
    [0.06, 1, 5, 0.3],
    [0.3, 1, 5, 1.5],
    [0.01, 1, 100, 1],
  ])("W10, W11, W17, W45: %f Ω × %f at %f A drops %f V", (ohms, times, amps, volts) => {
    expect(Math.abs(expectedDropVolts([exact(ohms * times)], amps).value - volts)).toBeLessThan(0.005);
  });

  it("W16: 22 m of 1.5 mm² at 1.6 A, 0.38 V by a constant that holds at 7.6 °C", () => {
    const cold = wireOhms({ part: "wire", id: "w", squareMillimetres: 1.5, metres: 22, strands: 1 }, 7.6);
    expect(expectedDropVolts([exact(cold)], 1.6).value).toBeCloseTo(0.385, 3);
  });

  it("W38: 1, 6 and 13 Ω at 0.6 A drop 0.600, 3.60 and 7.80 V, 12.0 V in all", () => {
    for (const [ohms, volts] of [
      [1, 0.6],
      [6, 3.6],
      [13, 7.8],
    ] as const) {
      expect(expectedDropVolts([exact(ohms)], 0.6).value).toBeCloseTo(volts, 6);
    }
    expect(expectedDropVolts([exact(1), exact(6), exact(13)], 0.6).value).toBeCloseTo(12, 6);
  });

  it("E: 10 mm² each way at 22 A, 0.420 V; a 30 mΩ ground costs 0.660 V more and the limit (computed, not published)", () => {
    const lead = (id: string): Wire => ({
      part: "wire",
      id,
      squareMillimetres: 10,
      metres: 5,
      ohms: 0.00955,
      ohmsTolerance: 1,
    });
    const load = { transmitAmps: 22 };
    const good = wiredJob(lead("out"), lead("back"), { load });
    expect(isUndersized(good)).toMatchObject({ undersized: false });
    expect(isUndersized(good)!.dropVolts.value).toBeCloseTo(0.42, 3);
    const stud: LoopItem = { part: "connection", id: "stud", style: "ground-stud", ohms: 0.03, ohmsTolerance: 1 };
    const bad = { ...good, loop: [...good.loop.slice(0, -1), stud, good.loop.at(-1)!] };
    expect(isUndersized(bad)).toMatchObject({ undersized: true });
    expect(isUndersized(bad)!.dropVolts.value).toBeCloseTo(1.08, 2);
  });
});

describe("smallest conductor", () => {
  it("W14: 50 ft, 20 A, 1 V, at 20 °C: No. 8", () => {
    const job = wiredJob(wire({ awg: 18 }, 50), null, {
      ambientCelsius: 20,
      load: { transmitAmps: 20 },
      limits: { totalDropVolts: 1 },
    });
    expect(smallestConductor(job)!.awg).toBe("8");
  });

  it("W15: 300 A, 8.5 ft, 0.36 V, at 150 °F: 86.42 kcmil take 1/0", () => {
    expect(smallestGauge(86_420 * squareMillimetresPerCircularMil, "awg")).toBe("1/0");
    const job = wiredJob(wire({ awg: 18 }, 8.5), null, {
      ambientCelsius: 65,
      load: { transmitAmps: 300 },
      limits: { totalDropPercent: 3 },
    });
    expect(smallestConductor(job)!.awg).toBe("1/0");
  });

  it("W19: 10 A over 21 ft: 3 % takes 10 AWG by SAE area (12 by true area), 10 % takes 16 AWG", () => {
    const circularMils = (percent: number) => (10.75 * 10 * 21) / (0.12 * percent);
    const squareMillimetres = (percent: number) => circularMils(percent) * squareMillimetresPerCircularMil;
    expect(circularMils(3)).toBeCloseTo(6271, 0);
    expect(smallestGauge(squareMillimetres(3), "sae")).toBe("10");
    expect(smallestGauge(squareMillimetres(3), "awg")).toBe("12");
    expect(smallestGauge(squareMillimetres(10), "sae")).toBe("16");
    expect(smallestGauge(squareMillimetres(10), "awg")).toBe("16");
  });

  it("W20: the ABYC 3 % table at 12 V, 39 cells", () => {
    const amps = [5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 90, 100];
    const rows: [feet: number, system: "awg" | "sae", gauges: string][] = [
      [10, "awg", "18 14 12 12 10 10 8 8 6 6 6 4 4"],
      [15, "sae", "16 12 10 10 8 8 6 6 4 4 4 2 2"],
      [20, "sae", "14 10 10 8 6 6 6 4 4 2 2 2 2"],
    ];
    for (const [feet, system, gauges] of rows) {
      const ours = amps.map((current) =>
        smallestGauge(((10.75 * current * feet) / 0.36) * squareMillimetresPerCircularMil, system),
      );
      expect(ours, `${feet} ft`).toEqual(gauges.split(" "));
    }
  });

  it("W21: 2.1 A, 18 m one way, 0.6 V, copper of 56 m/(Ω·mm²): 2.5 mm²", () => {
    const run = (id: string): Wire => ({ part: "wire", id, squareMillimetres: 1, metres: 18 });
    // 56 m/(Ω·mm²) is copper at 29 °C
    const job = wiredJob(run("out"), run("back"), {
      ambientCelsius: 29,
      load: { transmitAmps: 2.1 },
      limits: { totalDropVolts: 0.6 },
    });
    expect(smallestConductor(job)!.squareMillimetres).toBe(2.5);
  });
});

describe("source and fuse", () => {
  it("W31: 2.00 V for 5.00 A more is 0.400 Ω; W32: 15.0 V against 12.0 V at 8.00 A is 0.375 Ω", () => {
    const fell = subtract(uncertain(12), uncertain(10));
    expect(divide(fell, uncertain(5)).value).toBeCloseTo(0.4, 12);
    expect(divide(subtract(uncertain(15), uncertain(12)), uncertain(8)).value).toBeCloseTo(0.375, 12);
  });

  it("W47: 600 W on 12 V, 125 % is 62.5 A: 60 A is too small, 80 A will do", () => {
    const fused = (ratingAmps: number) => {
      const fuse: LoopItem = { part: "fuse", id: "fuse", style: "maxi-blade", ratingAmps };
      const job = wiredJob(fuse, null, { load: { transmitAmps: 600 / 12 } });
      return checkProtection(job, null).find(({ check }) => check === "fuse against continuous load current")!.pass;
    };
    expect([fused(60), fused(62.5), fused(80)]).toEqual([false, true, true]);
  });
});
