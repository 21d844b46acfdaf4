/**
 * Fifty installs worked by hand from the tables: 33 CFR 183.425 Table 5 with its engine-space and bundle factors,
 * 33 CFR 183.455(b) and (c), ABYC E-11's next size up, and 80 % of a fuse's rating (common practice).
 * y: rule kept, n: broken, ?: cannot tell (something is not declared, or only a figure that is not published breaks it).
 */
import { describe, expect, it } from "vitest";
import type { Q, StateEntry } from "../../../analysis/diagnosis.ts";
import { checkProtection, measuredReturnChecks } from "../../../analysis/finding/protection.ts";
import type { Job, LoopItem, Wire } from "../../../analysis/job/job.ts";
import type { FuseStyle } from "../../../analysis/job/part-styles.ts";
import { isPart } from "../../../analysis/job/route.ts";
import { quantity } from "../../../analysis/uncertain.ts";
import { chanceOf } from "../../fixtures/chance.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";

/**
 * set: v vehicle, b boat. fuse: style and amps. at: metres, then s sheathed, b bare, - not declared.
 * wire: gauge (s: SAE), or mm². class: insulation °C. around: e engine space, x3 three wires bundled, t45 ambient 45 °C.
 * cont, peak: fuse against the load; amp: fuse against the wire; load: load against the wire; dist: fuse's place.
 */
const installs = `
no set fuse           at     wire  class around load | cont peak amp load dist | worked
 1 v   blade20        0.15-  10    105   -      11.5 | y y y y y | 16 A for long; wire 60 A
 2 v   blade20        0.15-  10    105   -      15   | y y y y y | trade rule: 15 A takes a 20 A fuse
 3 v   blade20        0.15-  10    105   -      18   | n y y y y | above 16 A
 4 v   blade20        0.15-  10    105   -      22   | n n y y y | above the rating
 5 v   blade30        0.15-  16    105   -      11.5 | y y n y y | wire 25 A
 6 v   blade25        0.15-  16    105   -      11.5 | y y y y y | wire 25 A
 7 v   blade30        0.15-  14    105   -      20   | y y y y y | wire 35 A
 8 v   maxi-blade40   0.15-  14    105   -      20   | y y n y y | wire 35 A
 9 v   blade30        0.15-  10    -     -      20   | y y y y y | 40 A at 60 °C at the least
10 v   maxi-blade60   0.15-  10    -     -      40   | y y ? y y | 40 A to 70 A
11 v   maxi-blade80   0.15-  10    -     -      40   | y y n y y | 70 A at the most
12 v   maxi-blade40   0.15-  8     60    -      30   | y y y y y | wire 55 A
13 v   maxi-blade40   0.15-  8     -     -      30   | y y y y y | trade rule: 8 AWG carries 40 A
14 v   bolt-down100   0.15-  4     105   -      70   | y y y y y | wire 160 A
15 v   bolt-down200   0.15-  4     105   -      150  | y y n y y | wire 160 A
16 v   blade20        0.5b   10    105   -      15   | y y y y n | bare: at most 7 in
17 v   blade20        0.5s   10    105   -      15   | y y y y y | sheathed: at most 40 in
18 v   blade20        0.5-   10    105   -      15   | y y y y ? | sheath not declared
19 v   blade20        1.5s   10    105   -      15   | y y y y ? | 40 in by one rule, 72 in by the other
20 v   blade20        1.5b   10    105   -      15   | y y y y n | bare
21 v   blade20        2.0s   10    105   -      15   | y y y y n | past 72 in
22 v   blade20        0.19b  10    105   -      15   | y y y y ? | 7 in by one rule, 200 mm by the other
23 b   blade20        0.17b  10    105   -      15   | y y y y y | 7 in is 0.178 m
24 b   blade20        1.0s   10    105   -      15   | y y y y y | 40 in is 1.016 m
25 b   blade20        1.0b   10    105   -      15   | y y y y n | bare
26 v   maxi-blade60   0.15-  10    105   e      40   | y y n y y | 60 × 0.85 = 51 A
27 v   maxi-blade50   0.15-  10    105   e      40   | y y y y y | 51 A
28 v   blade30        0.15-  10    60    e      20   | y y ? y y | 40 × 0.58 = 23 A, factor from memory
29 v   blade20        0.15-  10    60    e      15   | y y y y y | 23 A
30 v   blade20        0.15-  12    75    e      12   | y y ? y y | 20 × 0.75 = 15 A, factor from memory
31 b   maxi-blade70   0.15-  10    105   -      50   | y y ? y y | above 60 A, below 150 % of it, and 60 A is sold
32 b   maxi-blade100  0.15-  10    105   -      50   | y y n y y | 150 % is 90 A
33 b   maxi-blade60   0.15-  10    105   e      40   | y y y y y | 51 A; next size up, below 76 A
34 v   blade30        0.15-  12    105   x3     20   | y y y y y | 45 × 0.7 = 31.5 A
35 v   blade30        0.15-  12    105   x5     20   | y y ? y y | 45 × 0.6 = 27 A, no bundle limit below 50 V
36 v   blade20        0.15-  12    105   x8     15   | y y y y y | 45 × 0.5 = 22.5 A
37 v   blade20        0.15-  12    105   x30    15   | y y ? y y | 45 × 0.4 = 18 A
38 v   maxi-blade40   0.15-  12    105   x2     30   | y y y y y | two wires: no factor; 45 A
39 v   maxi-blade60   0.15-  6mm   105   -      40   | y y y y y | between 10 AWG (60 A) and 8 AWG (80 A)
40 v   maxi-blade70   0.15-  6mm   105   -      50   | y y ? y y | between 60 and 80 A
41 v   maxi-blade100  0.15-  6mm   105   -      50   | y y n y y | above 80 A
42 v   blade30        0.15-  2.5mm 105   -      20   | y y y y y | between 14 AWG (35 A) and 12 AWG (45 A)
43 v   blade25        0.15-  0.75mm 105  -      11.5 | y y n ? y | thinner than 18 AWG (20 A)
44 v   blade5         0.15-  0.5mm 105   -      3    | y y ? ? y | thinner than any listed
45 v   bolt-down400   0.15-  120mm 105   -      300  | y y y y y | thicker than 4/0 (445 A)
46 v   maxi-blade50   0.15-  10cca 105   -      40   | y y ? y y | 60 × √(1/1.55) = 48 A, computed
47 v   maxi-blade40   0.15-  10cca 105   -      30   | y y y y y | 48 A
48 v   maxi-blade60   0.15-  10    105   t45    45   | y y ? y y | 60 × √(60/75) = 54 A, computed
49 v   maxi-blade60   0.15-  s10   105   -      45   | y y y y y | SAE by its number: 60 A
50 v   maxi-blade60   0.15-  10    100   -      40   | y y n y y | 90 °C column: 55 A
`;

interface Install {
  readonly no: string;
  readonly job: Job;
  readonly answers: readonly string[];
}

function readInstalls(): Install[] {
  return installs
    .trim()
    .split("\n")
    .slice(1)
    .map((line) => {
      const [declared, answers] = line.split("|");
      const [no, set, fuse, at, wire, insulation, around, load] = declared!.trim().split(/\s+/) as [
        string,
        ...string[],
      ];
      const feed = wireOf(wire!, insulation!, around!);
      return {
        no,
        job: declaredJob({
          setting: set === "b" ? "boat" : "vehicle",
          ambientCelsius: around!.startsWith("t") ? Number(around!.slice(1)) : 25,
          load: { transmitAmps: Number(load) },
          loop: loopOf(fuse!, at!, feed),
        }),
        answers: answers!.trim().split(" "),
      };
    });
}

function wireOf(wire: string, insulation: string, around: string): Wire {
  const size = wire.endsWith("mm")
    ? { squareMillimetres: Number.parseFloat(wire) }
    : {
        awg: Number.parseFloat(wire.replace("s", "")),
        ...(wire.startsWith("s") ? { gaugeSystem: "sae" as const } : {}),
      };
  return {
    part: "wire",
    id: "feed",
    metres: 4,
    ...size,
    ...(wire.endsWith("cca") ? { material: "copper-clad-aluminium" as const } : {}),
    ...(insulation === "-" ? {} : { insulationCelsius: Number(insulation) }),
    ...(around === "e" ? { engineSpace: true } : {}),
    ...(around.startsWith("x") ? { bundledWith: Number(around.slice(1)) - 1 } : {}),
  };
}

function loopOf(fuse: string, at: string, feed: Wire): LoopItem[] {
  const [, style, rating] = /^([a-z-]+)(\d+)$/.exec(fuse)!;
  const sheathed = at.endsWith("s") ? { sheathed: true } : at.endsWith("b") ? { sheathed: false } : {};
  return [
    { point: "battery+" },
    { part: "wire", id: "tail", awg: 4, metres: Number.parseFloat(at), ...sheathed },
    { part: "fuse", id: "main", style: style as FuseStyle, ratingAmps: Number(rating) },
    feed,
    { point: "load+" },
    { part: "load" },
    { point: "load-" },
    { ...feed, id: "back" },
    { point: "battery-" },
  ];
}

const letter = (pass: boolean | null | undefined): string =>
  pass === undefined ? "none" : pass === null ? "?" : pass ? "y" : "n";

describe("protection checks", () => {
  const columns: [check: string, part: string][] = [
    ["fuse against continuous load current", "main"],
    ["fuse against peak load current", "main"],
    ["fuse against the wire's ampacity", "feed"],
    ["load current against the wire's ampacity", "feed"],
    ["fuse's distance from the battery", "main"],
  ];

  it.each(readInstalls())("install $no agrees with the answers worked by hand", ({ job, answers }) => {
    const checks = checkProtection(job, { openCircuitVolts: 12.6, ohms: 0.01 });
    const given = columns.map(([check, part]) =>
      letter(checks.find((line) => line.check === check && line.part === part)?.pass),
    );
    expect(given).toEqual(answers);
    for (const line of checks) {
      if (line.check !== "negative clear of a battery sensor") expect(line.detail, line.check).toMatch(/\d|declared/);
      expect(line.source.length, line.check).toBeGreaterThan(8);
    }
  });

  it("covers fifty installs", () => expect(readInstalls()).toHaveLength(50));
});

const pass = (job: Job, check: string, part?: string) =>
  letter(
    checkProtection(job, { openCircuitVolts: 12.6, ohms: 0.01 }).find(
      (line) => line.check === check && (part === undefined || line.part === part),
    )?.pass,
  );

/** The install of the format's own example with parts taken out, changed or put in before the named one. */
function altered(change: (loop: LoopItem[]) => LoopItem[], fields: Partial<Job> = {}): Job {
  const job = declaredJob(fields);
  return { ...job, loop: change([...job.loop]) };
}
const without = (id: string) => (loop: LoopItem[]) =>
  loop.filter((item) => !("part" in item) || item.part === "load" || item.id !== id);
const before = (id: string, item: LoopItem) => (loop: LoopItem[]) =>
  loop.flatMap((other) => ("part" in other && other.part !== "load" && other.id === id ? [item, other] : [other]));

describe("the feed's fuse", () => {
  it("is missed where there is none", () => {
    expect(pass(altered(without("main-fuse")), "fuse in the feed")).toBe("n");
    const breaker: LoopItem = { part: "switch", id: "breaker" };
    expect(
      pass(
        altered((loop) => without("main-fuse")(before("main-fuse", breaker)(loop))),
        "fuse in the feed",
      ),
    ).toBe("?");
    expect(pass(altered(without("main-fuse"), { source: { kind: "converter" } }), "fuse in the feed")).toBe("?");
  });

  it("cannot be judged without its rating or the load's current", () => {
    const bare: LoopItem = { part: "fuse", id: "bare", style: "blade" };
    const unrated = altered((loop) => without("main-fuse")(before("main-fuse", bare)(loop)));
    for (const check of [
      "fuse against continuous load current",
      "fuse against peak load current",
      "fuse against the wire's ampacity",
      "fuse's distance from the battery",
    ]) {
      expect(pass(unrated, check), check).toBe("?");
    }
    expect(pass(declaredJob({ load: {} }), "fuse against continuous load current")).toBe("?");
  });

  it("carries less in the heat: 0.2 % for each kelvin above 25 °C, as a warning", () => {
    // 16 A at 25 °C; at 50 °C 16 × (1 − 0.05) = 15.2 A
    const hot = (transmitAmps: number, ambientCelsius: number) =>
      pass(declaredJob({ ambientCelsius, load: { transmitAmps } }), "fuse against continuous load current");
    expect([hot(15.6, 25), hot(15.6, 50), hot(15.1, 50), hot(16.2, 50), hot(15.9, -10)]).toEqual([
      "y",
      "?",
      "y",
      "n",
      "y",
    ]);
  });

  it("says how soon it may open above its rating", () => {
    // 32 A on a 20 A blade fuse is 160 %: 0.25 s at the soonest; 22 A is 110 %: 100 h (ISO 8820-3, from memory)
    const opening = (transmitAmps: number) =>
      checkProtection(declaredJob({ load: { transmitAmps } }), null).find(({ check }) => /how soon/.test(check));
    expect(opening(32)).toMatchObject({ pass: null, detail: "160 % of its rating: it may open after 0.25 s" });
    expect(opening(32)!.source).toContain("from memory");
    expect(opening(22)!.detail).toContain("100 h");
    expect(opening(11)).toBeUndefined();
  });

  it("of a converter may lie where a charging source's may, 1.8 m, as far as can be told", () => {
    const at = (metresFromBattery: number, kind: "battery" | "converter") =>
      pass(
        altered(
          (loop) =>
            loop.map((item) => ("part" in item && item.part === "fuse" ? { ...item, metresFromBattery } : item)),
          { source: { kind } },
        ),
        "fuse's distance from the battery",
      );
    expect([at(1.5, "battery"), at(1.5, "converter"), at(0.1, "converter"), at(2, "converter")]).toEqual([
      "?",
      "?",
      "y",
      "n",
    ]);
  });

  it("warms to the average of a speech transmission, and still carries its peak", () => {
    // 20 A fuse, 22 A peak: 0.6 + 0.25 × 21.4 = 5.95 A for long
    const speech = declaredJob({ load: { idleAmps: 0.6, transmitAmps: 22, emission: "ssb" } });
    expect(pass(speech, "fuse against continuous load current")).toBe("y");
    expect(pass(speech, "fuse against peak load current")).toBe("n");
  });

  it("is asked for again where the feed goes on thinner", () => {
    // 20 A before 16 AWG of undeclared insulation (15 to 35 A): cannot tell; a 10 A fuse between them settles it
    const thin: LoopItem = { part: "wire", id: "thin", awg: 16, metres: 1 };
    const branch = altered(before("plug-positive", thin));
    expect(pass(branch, "thinner branch has its own fuse")).toBe("?");
    const fused = {
      ...branch,
      loop: before("thin", { part: "fuse", id: "branch-fuse", style: "blade", ratingAmps: 10 })(branch.loop),
    };
    expect(pass(fused, "thinner branch has its own fuse")).toBe("y");
    expect(
      pass(
        altered((loop) => without("main-fuse")(before("plug-positive", thin)(loop))),
        "thinner branch has its own fuse",
      ),
    ).toBe("n");
    expect(pass(declaredJob(), "thinner branch has its own fuse")).toBe("none");
  });
});

describe("the way back", () => {
  it("is a wire on a boat, never the hull", () => {
    expect(pass(declaredJob({ setting: "boat" }), "hull is no return")).toBe("n");
    expect(pass(declaredJob({ setting: "vehicle" }), "hull is no return")).toBe("none");
    // 2.04 + 1.0 + 0.4 + 0.7 + 0.4 mΩ: within 5 mΩ
    expect(pass(declaredJob(), "chassis as return")).toBe("y");
  });

  it("is as thick as the way out, one gauge system for another allowed", () => {
    const ground = (wire: Partial<Wire>) =>
      altered((loop) =>
        loop.map((item) =>
          "part" in item && item.part === "wire" && item.id === "ground-lead" ? { ...item, ...wire } : item,
        ),
      );
    expect(pass(ground({ awg: 12 }), "return as good as the supply")).toBe("n");
    expect(pass(ground({ awg: 10, gaugeSystem: "sae" }), "return as good as the supply")).toBe("y");
    expect(pass(ground({ awg: 8 }), "return as good as the supply")).toBe("y");
  });

  it("has a fuse where the maker asks for one, and says what a blown one leaves", () => {
    const both = { load: { transmitAmps: 11.5, fusedLegs: "both" as const } };
    expect(pass(declaredJob(both), "both leads fused as the maker asks")).toBe("n");
    const negative: LoopItem = { part: "fuse", id: "negative-fuse", style: "blade", ratingAmps: 20 };
    const fused = altered(before("ground-stud", negative), both);
    expect(pass(fused, "both leads fused as the maker asks")).toBe("y");
    expect(pass(fused, "what a blown negative fuse leaves")).toBe("?");
  });

  it("conducts as well, whatever it is made of", () => {
    const material = (id: string, metal: Wire["material"]) =>
      altered((loop) =>
        loop.map((item) =>
          "part" in item && item.part === "wire" && item.id === id ? { ...item, material: metal! } : item,
        ),
      );
    // copper-clad aluminium conducts 1 / 1.55 of what copper of the same size does
    expect(pass(material("ground-lead", "copper-clad-aluminium"), "return as good as the supply")).toBe("n");
    expect(pass(material("feed", "copper-clad-aluminium"), "return as good as the supply")).toBe("y");
  });

  it("keeps clear of a battery sensor where the set's own negative goes to the battery", () => {
    const check = "negative clear of a battery sensor";
    const pair = (fields: Partial<Job> = {}) =>
      altered((loop) => loop.filter((item) => !isPart(item) || !["chassis", "connection"].includes(item.part)), fields);
    expect(pass(pair(), check)).toBe("?");
    expect(pass(pair({ setting: "boat" }), check)).toBe("none");
    expect(pass(declaredJob(), check)).toBe("none");
  });

  it("through a chassis is proven by a reading under load alone, and never fails by an aircraft's figure", () => {
    const keyed = (returnDropVolts: Q, amps: Q = quantity(11.4, 0.1)): StateEntry => ({
      engine: "off",
      radio: "transmit",
      amps,
      batteryVolts: null,
      loadVolts: null,
      supplyDropVolts: null,
      returnDropVolts,
    });
    const answer = (state: StateEntry | null, job = declaredJob()) => measuredReturnChecks(job, state)[0]?.pass;
    // 0.046 V at 11.4 A are 4.0 mΩ, 0.7 V are 61 mΩ; a structure return may have 5 mΩ
    expect(answer(keyed(quantity(0.046, 0.002)))).toBe(true);
    expect(answer(keyed(quantity(0.046, 0.02)))).toBeNull();
    expect(answer(keyed(quantity(0.7, 0.01)))).toBeNull();
    expect(measuredReturnChecks(declaredJob(), keyed(quantity(0.7, 0.01)))[0]!.detail).toContain("61.4 mΩ");
    for (const nothing of [null, keyed(null), keyed(quantity(0.7, 0.01), null)])
      expect(answer(nothing)).toBeUndefined();
  });
});

describe("standing drain", () => {
  // 60 Ah: half is 30 Ah; 14.4 mA (a set's front switch off) takes 86.8 days, 50 mA 25 days, 1 A 1.25 days
  const parked = (standbyAmps?: number, ampereHours?: number) =>
    declaredJob({
      load: { fedFrom: "constant", ...(standbyAmps === undefined ? {} : { standbyAmps }) },
      battery: ampereHours === undefined ? {} : { ampereHours },
    });
  it.each([
    [0.0144, 60, "y", "86.8 days"],
    [0.05, 60, "?", "25 days"],
    [1, 60, "?", "1.25 days"],
    [0, 60, "y", "nothing"],
    [undefined, 60, "?", "declared"],
    [0.05, undefined, "?", "declared"],
  ] as const)("%s A from %s Ah: %s (%s)", (amps, ampereHours, answer, words) => {
    const line = checkProtection(parked(amps, ampereHours), null).find(({ check }) => check === "standing drain")!;
    expect(letter(line.pass)).toBe(answer);
    expect(line.detail).toContain(words);
  });

  it("takes a current read with the set off before a declared one, and none through a switch", () => {
    const reading = { round: "before", through: "feed", radio: "off" as const, amps: -0.02 };
    const line = checkProtection({ ...parked(1, 60), readings: [reading] }, null).find(
      ({ check }) => check === "standing drain",
    )!;
    expect(line.detail).toContain("62.5 days");
    expect(pass(declaredJob({ load: { fedFrom: "switched", standbyAmps: 1 } }), "standing drain")).toBe("y");
  });
});

describe("what the job does not know, or knows better", () => {
  it("a guessed size neither passes nor fails", () => {
    const guess = altered((loop) =>
      loop.map((item) => ("part" in item && item.part === "wire" ? { ...item, awg: 16, unknown: ["size"] } : item)),
    );
    expect(pass(guess, "fuse against the wire's ampacity", "feed")).toBe("?");
    expect(pass(guess, "load current against the wire's ampacity", "feed")).toBe("?");
    expect(pass(guess, "return as good as the supply")).toBe("?");
  });

  it("a code that is not built in comes first, and is said to", () => {
    expect(pass(declaredJob({ rules: "harbour authority, small craft" }), "rules that apply here")).toBe("?");
    expect(pass(declaredJob({ rules: "33 CFR 183" }), "rules that apply here")).toBe("none");
  });
});

describe("on 400 drawn installs", () => {
  /** Anything that a job may say of fuse, wires, set and battery, or leave out. */
  function drawnInstall(seed: number): Job {
    const chance = chanceOf(seed);
    const maybe = <T>(name: string, value: T) => (chance.yes(0.6) ? { [name]: value } : {});
    const wire = (id: string): Wire => ({
      part: "wire",
      id,
      metres: chance.between(0.2, 8),
      ...(chance.yes(0.5)
        ? { awg: chance.pick([20, 18, 16, 14, 12, 10, 8, 4]) }
        : { squareMillimetres: chance.pick([0.5, 1, 2.5, 6, 16]) }),
      ...maybe("insulationCelsius", chance.pick([50, 60, 75, 90, 105, 125])),
      ...maybe("engineSpace", chance.yes(0.5)),
      ...maybe("bundledWith", chance.pick([0, 2, 5, 30])),
      ...maybe("sheathed", chance.yes(0.5)),
      ...maybe("material", chance.pick(["copper", "copper-clad-aluminium", "aluminium"] as const)),
    });
    const fuse = (id: string): LoopItem => ({
      part: "fuse",
      id,
      style: chance.pick(["blade", "maxi-blade", "bolt-down", "glass"] as const),
      ...maybe("ratingAmps", chance.pick([5, 20, 40, 100])),
      ...maybe("metresFromBattery", chance.pick([0.1, 0.19, 0.5, 1.5, 3])),
    });
    const some = (item: LoopItem): LoopItem[] => (chance.yes(0.7) ? [item] : []);
    return declaredJob({
      ...maybe("setting", chance.pick(["vehicle", "boat"] as const)),
      ...maybe("rules", chance.pick(["ISO 10133", "33 CFR 183", "harbour rules"])),
      ambientCelsius: chance.between(-20, 60),
      source: maybe("limitAmps", chance.pick([10, 30, 300])),
      battery: maybe("ampereHours", 60),
      load: {
        ...maybe("transmitAmps", chance.between(1, 60)),
        ...maybe("fusedLegs", "both" as const),
        ...maybe("fedFrom", "constant" as const),
        ...maybe("standbyAmps", chance.between(0, 2)),
      },
      loop: [
        { point: "battery+" },
        ...some(wire("tail")),
        ...some(fuse("main")),
        wire("feed"),
        ...some(wire("branch")),
        { point: "load+" },
        { part: "load" },
        { point: "load-" },
        ...some(wire("back")),
        ...some(fuse("negative")),
        ...some({ part: "chassis", id: "body" }),
        { point: "battery-" },
      ],
    });
  }
  const sources = [null, { openCircuitVolts: 12.6, ohms: 0.01 }];
  const drawn = Array.from({ length: 400 }, (_, seed) =>
    checkProtection(drawnInstall(seed), sources[seed % 2]!),
  ).flat();

  it("nothing that is from memory fails an install by itself", () => {
    const failed = drawn.filter(({ pass }) => pass === false);
    expect(failed.length).toBeGreaterThan(200);
    expect(failed.filter(({ detail, source }) => /memory/.test(`${detail} ${source}`))).toEqual([]);
  });

  it("every check names its figure and its source, and nothing is not a number", () => {
    for (const { check, detail, source } of drawn) {
      expect(detail, check).not.toMatch(/NaN|undefined|null/);
      expect(source.length, check).toBeGreaterThan(8);
    }
    const checks = new Set(drawn.map(({ check }) => check));
    console.log(`${drawn.length} checks of ${checks.size} kinds`);
    expect(checks.size).toBeGreaterThanOrEqual(18);
  });
});
