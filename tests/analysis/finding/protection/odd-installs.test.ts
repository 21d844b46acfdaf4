/**
 * Installs with odd but legal values: what the program says of them is true, and tells the reader what to do.
 * Answers worked by hand from `reference/ampacity-and-fuses.md`.
 */
import { describe, expect, it } from "vitest";
import { wireAmpacity } from "../../../../analysis/finding/protection/ampacity.ts";
import { checkProtection } from "../../../../analysis/finding/protection.ts";
import type { Fuse, Job, LoopItem, Wire } from "../../../../analysis/job/job.ts";
import { declaredJob } from "../../../fixtures/declared-job.ts";

const fuse: Fuse = { part: "fuse", id: "main", style: "blade", ratingAmps: 20, metresFromBattery: 0.1 };
const wire = (fields: Partial<Wire> = {}): Wire => ({ part: "wire", id: "feed", awg: 10, metres: 4, ...fields });

/** Battery, the given parts, the set, and a return of 10 AWG. */
function install(supply: LoopItem[], fields: Partial<Job> = {}): Job {
  const back: LoopItem[] = [{ point: "load-" }, wire({ id: "back" }), { point: "battery-" }];
  return declaredJob({
    loop: [{ point: "battery+" }, ...supply, { point: "load+" }, { part: "load" }, ...back],
    ...fields,
  });
}

const checkOf = (job: Job, check: string, source: Parameters<typeof checkProtection>[1] = null) =>
  checkProtection(job, source).find((line) => line.check === check)!;

describe("a wire", () => {
  it("thinner than any listed is in no table: what it carries is computed, and passes nobody", () => {
    // 24 AWG is 0.205 mm²; 16 AWG, 1.31 mm², carries 25 A at 105 °C: 0.205 / 1.31 × 25 = 3.9 A
    const thin = wireAmpacity(wire({ awg: 24, insulationCelsius: 105 }), 25);
    expect(thin).toMatchObject({
      lowAmps: 0,
      highAmps: 20,
      basis: expect.stringContaining("3.9 A by current density"),
    });
    const job = install([{ ...fuse, ratingAmps: 3 }, wire({ awg: 24, insulationCelsius: 105 })], {
      load: { transmitAmps: 2 },
    });
    const line = checkOf(job, "fuse against the wire's ampacity");
    expect(line).toMatchObject({ pass: null, detail: expect.not.stringContaining("0 A for sure") });
    const heavy = install([
      { ...fuse, ratingAmps: 200, style: "bolt-down" },
      wire({ awg: 24, insulationCelsius: 105 }),
    ]);
    expect(checkOf(heavy, "fuse against the wire's ampacity").pass).toBe(false);
  });

  it("computed by current density carries no more than what others publish for the thin sizes", () => {
    // free air 20 AWG: 9 A at 60 °C, 12.5 A at 90 °C; ISO 10133, 0.75 mm²: 6 A at 60 °C, 16 A at 105 °C (from memory)
    const computed = (fields: Partial<Wire>) =>
      Number(/([\d.]+) A by current/.exec(wireAmpacity(wire(fields), 30).basis)![1]);
    expect(computed({ awg: 20, insulationCelsius: 60 })).toBeLessThanOrEqual(9);
    expect(computed({ awg: 20, insulationCelsius: 90 })).toBeLessThanOrEqual(12.5);
    expect(computed({ awg: undefined, squareMillimetres: 0.75, insulationCelsius: 105 })).toBeLessThanOrEqual(16);
  });

  it("of unknown size is not said to carry nothing", () => {
    const line = checkOf(install([fuse, wire({ unknown: ["size"] })]), "fuse against the wire's ampacity");
    expect(line).toMatchObject({ pass: null, detail: expect.stringContaining("read the print on it") });
  });

  it("carries nothing where it is as hot around it as its insulation stands", () => {
    const hot = install([{ ...fuse, ratingAmps: 15 }, wire({ insulationCelsius: 60 })], { ambientCelsius: 70 });
    const line = checkOf(hot, "load current against the wire's ampacity");
    expect(line).toMatchObject({ pass: false, detail: expect.stringContaining("70 °C around it") });
    const better = install([fuse, wire({ insulationCelsius: 105 })], { ambientCelsius: 70 });
    // 60 A × √((105 − 70) / (105 − 30)) = 41 A
    expect(checkOf(better, "load current against the wire's ampacity").pass).toBe(true);
  });
});

describe("the fuse's distance", () => {
  const distance = (supply: LoopItem[], fields: Partial<Job> = {}) =>
    checkOf(install(supply, fields), "fuse's distance from the battery");

  it("cannot be told where its own figure and the wire before it differ, unless both are as good or as bad", () => {
    const unplaced: Fuse = { part: "fuse", id: "main", style: "blade", ratingAmps: 20 };
    const tail = (metres: number): LoopItem => wire({ id: "tail", metres });
    expect(distance([tail(2), { ...fuse, metresFromBattery: 0.15 }, wire()])).toMatchObject({
      pass: null,
      detail: expect.stringContaining("0.15 or 2.00 m"),
    });
    expect(distance([tail(0.15), { ...fuse, metresFromBattery: 0.1 }, wire()]).pass).toBe(true);
    expect(distance([tail(2), { ...fuse, metresFromBattery: 3 }, wire()]).pass).toBe(false);
    expect(distance([tail(0.12), unplaced, wire()]).pass).toBe(true);
  });

  it("may be 200 mm where ISO 10133 applies", () => {
    const near = { ...fuse, metresFromBattery: 0.19 };
    expect(distance([near, wire()], { setting: "boat" }).pass).toBeNull();
    expect(distance([near, wire()], { setting: "boat", rules: "ISO 10133" })).toMatchObject({
      pass: true,
      source: expect.stringContaining("200 mm"),
    });
  });
});

describe("a dead short", () => {
  const opens = "short at the load opens the fuse before the wire is hurt";

  it("from a converter cannot be told without its limit: it may give too little to open a fuse", () => {
    const fed = (limitAmps?: number) =>
      install([fuse, wire()], { source: { kind: "converter", ...(limitAmps === undefined ? {} : { limitAmps }) } });
    const lines = checkProtection(fed(), null).filter(({ check }) => check.startsWith("short"));
    expect(lines.map(({ check, pass }) => [check, pass])).toEqual([[opens, null]]);
    expect(checkOf(fed(30), opens)).toMatchObject({ pass: true, detail: expect.not.stringContaining("battery") });
  });

  it("from a battery that few readings tell of is a range", () => {
    // wire, fuse, and both lengths of 10 AWG aside: what counts is that the stiffest and the weakest battery bound it
    const known = { openCircuitVolts: 12.6, ohms: 0.012 };
    const vague = { ...known, lowOhms: 0.005, highOhms: 0.045 };
    const job = install([fuse, wire()]);
    const behind = "short right behind it against the fuse's interrupting rating";
    expect(checkOf(job, behind, known)).toMatchObject({ pass: true });
    expect(checkOf(job, behind, vague)).toMatchObject({ pass: null, detail: expect.stringMatching(/\d to \d/) });
  });

  it("against a fuse of which no opening time is known is left to its sheet", () => {
    const job = install([{ ...fuse, style: "bolt-down", ratingAmps: 60 }, wire()]);
    expect(checkOf(job, opens)).toMatchObject({ pass: null, detail: expect.stringContaining("stands on its sheet") });
  });
});

describe("what the load draws", () => {
  const keyed = (value: number) => ({ value, low: value - 0.7, high: value + 0.7, uncertainty: 0.36 });
  const checked = (load: Partial<Job["load"]>, amps: number | null, ratingAmps = 15) =>
    checkProtection(
      install([{ ...fuse, ratingAmps }, wire({ awg: 14, insulationCelsius: 60 })], { load }),
      null,
      undefined,
      amps === null ? null : keyed(amps),
    );
  const passOf = (lines: ReturnType<typeof checked>, check: string) => lines.find((line) => line.check === check)!;

  it("is what the clamp shows where that is surely more than the plate says", () => {
    // 18 A through a 15 A fuse, whatever the plate says; 14 AWG at 60 °C carries 20 A
    const lines = checked({ transmitAmps: 11.5 }, 18);
    expect(passOf(lines, "fuse against peak load current")).toMatchObject({
      pass: false,
      detail: expect.stringContaining("18 A at transmit as measured"),
    });
    expect(passOf(lines, "fuse against continuous load current").pass).toBe(false);
    expect(passOf(lines, "load current against the wire's ampacity").pass).toBe(true);
    expect(passOf(checked({ transmitAmps: 11.5 }, 21), "load current against the wire's ampacity").pass).toBe(false);
  });

  it("is the plate's where the clamp shows no more, or less", () => {
    for (const amps of [8, 11.9, null]) {
      const line = passOf(checked({ transmitAmps: 11.5 }, amps), "fuse against peak load current");
      expect(line).toMatchObject({ pass: true, detail: expect.stringContaining("11.5 A at transmit;") });
    }
  });

  it("is measured where nothing is declared, and cannot be told where the limit lies within what was read", () => {
    expect(passOf(checked({}, 11), "fuse against peak load current").pass).toBe(true);
    // 11.3 to 12.7 A against 80 % of 15 A, 12 A
    expect(passOf(checked({}, 12), "fuse against continuous load current").pass).toBeNull();
    expect(passOf(checked({}, null), "fuse against peak load current").pass).toBeNull();
    // a meter sees the average of a set that pulses
    expect(passOf(checked({ emission: "time-slotted" }, 11), "fuse against peak load current").pass).toBeNull();
  });
});

describe("a step to thinner wire", () => {
  const tail = (awg: number, metres: number, id: string) => wire({ id, awg, metres, insulationCelsius: 105 });
  const steps = (supply: LoopItem[]) => install(supply, { setting: "boat" });
  const check = "thinner branch has its own fuse";

  it("just before the first fuse is judged by the fuse's distance", () => {
    const near = steps([
      tail(4, 0.1, "link"),
      tail(10, 0.05, "lead"),
      { ...fuse, metresFromBattery: undefined },
      wire(),
    ]);
    expect(checkProtection(near, null).some((line) => line.check === check)).toBe(false);
    expect(checkOf(near, "fuse's distance from the battery").pass).toBe(true);
  });

  it("behind it needs a fuse that is small enough", () => {
    const behind = (ratingAmps: number) => steps([{ ...fuse, ratingAmps }, tail(6, 2, "trunk"), tail(14, 1, "tail")]);
    // 14 AWG at 105 °C: 35 A, and 52.5 A at most
    expect(checkOf(behind(30), check).pass).toBe(true);
    expect(checkOf(behind(60), check).pass).toBe(false);
  });
});

describe("a negative fuse", () => {
  it("on a battery that touches nothing else leaves no other way back", () => {
    const fused = (kind: Job["source"]["kind"]) =>
      declaredJob({
        loop: [
          { point: "battery+" },
          fuse,
          wire(),
          { point: "load+" },
          { part: "load" },
          { point: "load-" },
          wire({ id: "back" }),
          { ...fuse, id: "negative" },
          { point: "battery-" },
        ],
        source: { kind },
      });
    const left = (kind: Job["source"]["kind"]) =>
      checkProtection(fused(kind), null).some(({ check }) => check === "what a blown negative fuse leaves");
    expect([left("battery"), left("isolated-battery")]).toEqual([true, false]);
  });
});

describe("the standing drain", () => {
  it("asks for what is missing alone", () => {
    const line = checkOf(
      install([fuse, wire()], { load: { fedFrom: "constant", standbyAmps: 0.02 } }),
      "standing drain",
    );
    expect(line).toMatchObject({ pass: null, detail: "the battery's ampere-hours should be declared to tell" });
  });
});
