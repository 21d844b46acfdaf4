/**
 * A dead short at the load against the circuit simulator (ngspice, as packed in eecircuit-engine), worked examples W07
 * and W33, and installs worked by hand: current, opening of the fuse, and what the wire stands (IEC 60949, from memory).
 */
import { Simulation } from "eecircuit-engine";
import { describe, expect, it } from "vitest";
import { adiabaticSeconds, shortCircuitCelsius } from "../../../../analysis/finding/protection/adiabatic-limit.ts";
import { faultCurrents, shortCircuitChecks } from "../../../../analysis/finding/protection/short-circuit.ts";
import type { Job, LoopItem } from "../../../../analysis/job/job.ts";
import type { FuseStyle } from "../../../../analysis/job/part-styles.ts";
import { isPart } from "../../../../analysis/job/route.ts";
import { expectedParts } from "../../../../analysis/loop/expected-part.ts";
import { declaredJob } from "../../../fixtures/declared-job.ts";
import { type Circuit, simulatedNodeVolts } from "../../../fixtures/simulated-loop.ts";

interface Run {
  readonly gauge: number;
  readonly metres: number;
  readonly style: FuseStyle;
  readonly ratingAmps: number;
  readonly insulationCelsius?: number;
}

/** Fused pair straight to the battery. */
function pair({ gauge, metres, style, ratingAmps, insulationCelsius = 105 }: Run): Job {
  const wire = (id: string): LoopItem => ({ part: "wire", id, awg: gauge, metres, insulationCelsius });
  return declaredJob({
    ambientCelsius: 20,
    loop: [
      { point: "battery+" },
      { part: "connection", id: "lug", style: "ring-lug" },
      { part: "fuse", id: "main", style, ratingAmps, metresFromBattery: 0.1 },
      wire("feed"),
      { point: "load+" },
      { part: "load" },
      { point: "load-" },
      wire("back"),
      { part: "connection", id: "negative-lug", style: "ring-lug" },
      { point: "battery-" },
    ],
  });
}

describe("short-circuit current", () => {
  it("is the circuit simulator's, on 48 runs, at the load and right behind the fuse", async () => {
    const cases = [18, 14, 10, 8, 4, 0].flatMap((gauge) =>
      [0.8, 6].flatMap((metres) =>
        [0.003, 0.01, 0.025, 0.06].map((ohms) => ({
          job: pair({ gauge, metres, style: gauge > 9 ? "blade" : "maxi-blade", ratingAmps: 30 }),
          source: { openCircuitVolts: 12.6, ohms },
        })),
      ),
    );
    const shortAfter = ({ job, source }: (typeof cases)[number], count: number): Circuit => ({
      ground: "0",
      branches: [
        { kind: "volts", from: "emf", to: "0", volts: source.openCircuitVolts },
        { kind: "ohms", from: "emf", to: "n0", ohms: source.ohms },
        ...expectedParts(job)
          .slice(0, count)
          .map(({ ohms }, i) => ({
            kind: "ohms" as const,
            from: `n${i}`,
            to: i === count - 1 ? "0" : `n${i + 1}`,
            ohms,
          })),
      ],
    });
    const behindFuse = 2;
    const solved = await simulatedNodeVolts(
      cases.flatMap((one) => [shortAfter(one, expectedParts(one.job).length), shortAfter(one, behindFuse)]),
    );
    const simulated = solved.map((volts, i) => {
      const { source } = cases[Math.floor(i / 2)]!;
      return (source.openCircuitVolts - volts.get("n0")!) / source.ohms;
    });
    const worst = cases.map(({ job, source }, i) => {
      const { atLoadAmps, atFuseAmps } = faultCurrents(job, source);
      return Math.max(
        Math.abs(atLoadAmps / simulated[2 * i]! - 1),
        Math.abs(atFuseAmps.get("main")! / simulated[2 * i + 1]! - 1),
      );
    });
    console.log(`short-circuit current on ${cases.length} runs: worst ${Math.max(...worst).toExponential(1)}`);
    expect(Math.max(...worst)).toBeLessThan(1e-6);
  });

  it("is 20.352 A from 230 V through 2300 ft of 14 AWG there and back, 5.651 Ω each (W07)", () => {
    const wire = (id: string): LoopItem => ({ part: "wire", id, awg: 14, metres: 701, ohms: 5.6505 });
    const loop = pair({ gauge: 14, metres: 1, style: "blade", ratingAmps: 15 }).loop.flatMap((item) => {
      if (!isPart(item)) return [item];
      return item.part === "wire" ? [wire(item.id)] : [];
    });
    expect(faultCurrents(declaredJob({ loop }), { openCircuitVolts: 230, ohms: 0 }).atLoadAmps).toBeCloseTo(20.352, 3);
  });

  it("is 50 A from 10 V behind 0.2 Ω (W33)", () => {
    const loop = declaredJob().loop.filter((item) => !("part" in item) || item.part === "load");
    expect(faultCurrents(declaredJob({ loop }), { openCircuitVolts: 10, ohms: 0.2 }).atLoadAmps).toBeCloseTo(50, 9);
  });
});

describe("the adiabatic limit", () => {
  /**
   * One millimetre of wire as a heat store that its own resistance fills, no heat leaving: what the formula solves in
   * closed form, left to the simulator's time steps. Copper: 3.45e-3 J/K·mm³, 17.241e-6 Ω·mm at 20 °C, 234.5 °C
   * (IEC 60949, from memory).
   */
  const wires = [
    { squareMillimetres: 5.26, insulationCelsius: 105, amps: 500 },
    { squareMillimetres: 1.31, insulationCelsius: 60, amps: 150 },
    { squareMillimetres: 2.08, insulationCelsius: 90, amps: 200 },
    { squareMillimetres: 21.15, insulationCelsius: 125, amps: 1500 },
  ];

  it("is when the simulated wire reaches what its insulation stands", async () => {
    const longest = Math.max(...wires.map((one) => adiabatic(one)));
    const deck = wires.flatMap(({ squareMillimetres, insulationCelsius, amps }, i) => {
      const power = (amps ** 2 * 17.241e-6) / squareMillimetres;
      return [
        `c${i} t${i} 0 ${3.45e-3 * squareMillimetres} ic=${insulationCelsius}`,
        `b${i} 0 t${i} i=${power}*(v(t${i})+234.5)/254.5`,
      ];
    });
    const simulation = new Simulation();
    await simulation.start();
    simulation.setNetList(
      ["heat", ...deck, ".options reltol=1e-7", `.tran ${longest / 4000} ${longest * 1.1} uic`, ".end"].join("\n"),
    );
    const { data } = await simulation.runSim();
    const column = (name: string) => data.find((one) => one.name === name)!.values as number[];
    const errors = wires.map((one, i) => {
      const reached = crossing(column("time"), column(`v(t${i})`), shortCircuitCelsius(one.insulationCelsius));
      return Math.abs(adiabatic(one) / reached - 1);
    });
    console.log(`adiabatic limit on ${wires.length} wires: worst ${(100 * Math.max(...errors)).toFixed(2)} %`);
    // 226 is √(3.45e-3 · 254.5 / 17.241e-6) = 225.7 rounded: 0.3 % in time
    expect(Math.max(...errors)).toBeLessThan(0.005);
  });

  const adiabatic = ({ squareMillimetres, insulationCelsius, amps }: (typeof wires)[number]) =>
    adiabaticSeconds("copper", squareMillimetres, insulationCelsius, amps);

  function crossing(seconds: readonly number[], celsius: readonly number[], limit: number): number {
    const after = celsius.findIndex((value) => value >= limit);
    const along = (limit - celsius[after - 1]!) / (celsius[after]! - celsius[after - 1]!);
    return seconds[after - 1]! + along * (seconds[after]! - seconds[after - 1]!);
  }
});

/**
 * Worked by hand. Ohms of a run: 17.241 mΩ·mm²/m, lay 1.02, 20 °C: 10 AWG (5.26 mm²) 3.34 mΩ/m, 18 AWG (0.823) 21.4,
 * 14 AWG (2.08) 8.45, 4 AWG (21.15) 0.831; two ring lugs and the fuse add some milliohms, so that amps are to 5 %.
 * k = 226·√ln((160 + 234.5)/(class + 234.5)): 105 °C 87.6, 60 °C 119; t = (k·S/I)².
 */
describe("does a dead short at the load open the fuse before the wire is hurt?", () => {
  const battery = { openCircuitVolts: 12.6, ohms: 0.01 };
  it.each([
    // 12.6 / (10 + 26.7 + 6) mΩ = 295 A = 14.8 × 20: 0.1·(6/14.8)² = 0.016 s; (87.6·5.26/295)² = 2.4 s
    ["10 AWG, 4 m, blade 20", { gauge: 10, metres: 4, style: "blade", ratingAmps: 20 }, 295, true],
    // 12.6 / (10 + 214 + 6) mΩ = 55 A, 1.8 × 30: between 50 s and 5 s, about 15 s; (87.6·0.823/55)² = 1.7 s
    ["18 AWG, 5 m, blade 30", { gauge: 18, metres: 5, style: "blade", ratingAmps: 30 }, 55, null],
    // the same wire behind 5 A: 11 × 5: 0.03 s
    ["18 AWG, 5 m, blade 5", { gauge: 18, metres: 5, style: "blade", ratingAmps: 5 }, 51, true],
    // 12.6 / (10 + 101 + 5) mΩ = 109 A = 1.8 × 60: between 1800 s and 60 s; (87.6·2.08/109)² = 2.8 s
    ["14 AWG, 6 m, large blade 60", { gauge: 14, metres: 6, style: "maxi-blade", ratingAmps: 60 }, 109, null],
    // 12.6 / (10 + 8.3 + 2) mΩ = 620 A: the band of a bolt-down fuse is not known
    ["4 AWG, 5 m, bolt-down 150", { gauge: 4, metres: 5, style: "bolt-down", ratingAmps: 150 }, 620, null],
    // 12.6 / (10 + 428 + 20) mΩ = 28 A: 10 AWG would carry it, 18 AWG (20 A) does not; 2.8 × 10: about 1.5 s
    ["18 AWG, 10 m, blade 10", { gauge: 18, metres: 10, style: "blade", ratingAmps: 10 }, 28, true],
  ] satisfies [string, Run, number, boolean | null][])("%s", (_, run, amps, pass) => {
    const job = pair(run);
    expect(Math.abs(faultCurrents(job, battery).atLoadAmps / amps - 1)).toBeLessThan(0.05);
    const check = shortCircuitChecks(job, battery).find(
      ({ part, check }) => part === "feed" && /opens the fuse/.test(check),
    )!;
    expect(check.pass).toBe(pass);
    expect(check.source).toContain("from memory");
  });

  it("does where the wire carries the short for ever: 4 AWG from a converter that gives 30 A", () => {
    const job = { ...pair({ gauge: 4, metres: 3, style: "blade", ratingAmps: 40 }), source: { limitAmps: 30 } };
    const [check] = shortCircuitChecks(job, battery).filter(({ check }) => /opens the fuse/.test(check));
    expect(check).toMatchObject({ pass: true, detail: expect.stringContaining("for ever") });
  });

  it("surely does not where no fuse ever opens and the wire carries less: 18 AWG from a converter that gives 30 A", () => {
    const job = { ...pair({ gauge: 18, metres: 3, style: "blade", ratingAmps: 40 }), source: { limitAmps: 30 } };
    const [check] = shortCircuitChecks(job, battery).filter(({ check }) => /opens the fuse/.test(check));
    expect(check!.pass).toBe(false);
  });

  it("is told as a range, marked as supposed, where the battery was not measured", () => {
    const checks = shortCircuitChecks(pair({ gauge: 10, metres: 4, style: "blade", ratingAmps: 20 }), null);
    for (const { detail } of checks) expect(detail).toMatch(/\d+ to \d+ A.*battery not measured.*from memory/);
  });
});

describe("a short against what the fuse can break", () => {
  const answers = (style: FuseStyle, ohms: number) =>
    shortCircuitChecks(pair({ gauge: 8, metres: 2, style, ratingAmps: 40 }), { openCircuitVolts: 12.6, ohms }).filter(
      ({ check }) => /interrupting/.test(check),
    );

  it("is kept, or warned of, and never fails: the source is what the battery sags by over seconds", () => {
    const passes = (style: FuseStyle, ohms: number) => answers(style, ohms).map(({ pass }) => pass);
    // 12.6 V through 15 mΩ and some: below 1000 A. Through 3 mΩ, a lug and a 40 A link of some 3 mΩ: above; the run adds 8 mΩ
    expect(passes("maxi-blade", 0.015)).toEqual([true, true]);
    expect(passes("maxi-blade", 0.003)).toEqual([true, null]);
    expect(passes("bolt-down", 0.015)).toEqual([null]);
    expect(passes("glass", 0.1)).toEqual([null]);
  });

  it("names the current at either place, and the limit", () => {
    const [atLoad, behind] = answers("maxi-blade", 0.015);
    expect(atLoad).toMatchObject({ check: "short at the load against the fuse's interrupting rating" });
    expect(behind).toMatchObject({ check: "short right behind it against the fuse's interrupting rating" });
    for (const { detail, source } of [atLoad!, behind!]) {
      expect(detail).toMatch(/it draws \d+ A; the fuse breaks 1000 A/);
      expect(source).toContain("ISO 8820-3:2015");
    }
  });
});
