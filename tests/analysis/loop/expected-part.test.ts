/**
 * What a job says of a part overrides what is expected of its kind; what it does not know widens it.
 * Figures by hand from `conductors.md` sections 1 to 3 and 7.
 */
import { describe, expect, it } from "vitest";
import type { Part } from "../../../analysis/job/job.ts";
import { connectionStyles, fuseStyles } from "../../../analysis/job/part-styles.ts";
import { expectedParts } from "../../../analysis/loop/expected-part.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";

const around = (part: Part) => [
  { point: "battery+" },
  part,
  { point: "load+" },
  { part: "load" as const },
  { point: "load-" },
  { point: "battery-" },
];
const expectedOf = (part: Part, fields = {}) => expectedParts(declaredJob({ loop: around(part), ...fields }))[0]!;
const feed = { part: "wire" as const, id: "feed", awg: 10, metres: 4.5 };

describe("expected parts", () => {
  it("stand in the order of the loop, the load aside, with their leg", () => {
    const parts = expectedParts(declaredJob());
    expect(parts.map((part) => part.id)).toEqual([
      "battery-lug",
      "main-fuse",
      "feed",
      "plug-positive",
      "plug-negative",
      "ground-lead",
      "ground-stud",
      "body",
      "battery-strap",
    ]);
    expect(parts.map((part) => part.leg).lastIndexOf("supply")).toBe(3);
  });

  it("give every style a median and a spread of about a factor of 2", () => {
    const parts = [
      ...connectionStyles.map((style) => expectedOf({ part: "connection", id: style, style })),
      ...fuseStyles.map((style) => expectedOf({ part: "fuse", id: style, style, ratingAmps: 20 })),
    ];
    for (const part of parts) {
      expect(part.ohms, part.id).toBeGreaterThan(0.05e-3);
      expect(part.ohms, part.id).toBeLessThan(30e-3);
      expect(part.spread, part.id).toBeGreaterThan(0.3);
      expect(part.source.length, part.id).toBeGreaterThan(10);
    }
  });

  it("take 4.5 m of 10 AWG at 20 °C as 15.04 mΩ, and 1.55 times that when copper-clad", () => {
    // 3.2770 Ω/km (conductors.md section 2) × 4.5 m × 1.02 = 15.0415 mΩ
    expect(expectedOf(feed, { ambientCelsius: 20 }).ohms).toBeCloseTo(0.0150415, 6);
    const clad = expectedOf({ ...feed, material: "copper-clad-aluminium" }, { ambientCelsius: 20 });
    expect(clad.ohms / 0.0150415).toBeCloseTo(1.55, 3);
  });

  it("widen for an ambient that is not declared, and for guessed size and length", () => {
    const known = expectedOf(feed).spread;
    const noAmbient = expectedOf(feed, { ambientCelsius: undefined });
    expect(known).toBeGreaterThan(0.05);
    expect(known).toBeLessThan(0.1);
    expect(noAmbient.spread).toBeGreaterThan(known);
    expect(noAmbient.ohms).toBeLessThan(expectedOf(feed).ohms);
    const length = expectedOf({ ...feed, unknown: ["length"] }).spread;
    const size = expectedOf({ ...feed, unknown: ["size"] }).spread;
    expect(length).toBeGreaterThan(3 * known);
    expect(size).toBeGreaterThan(length);
    expect(expectedOf({ ...feed, unknown: ["size", "length"] }).spread).toBeGreaterThan(size);
  });

  it("take ohms and tolerance from the job, each on its own", () => {
    const plug = { part: "connection" as const, id: "plug", style: "plug" as const };
    expect(expectedOf({ ...plug, ohms: 0.004 })).toMatchObject({ ohms: 0.004, source: "as stated in the job" });
    expect(expectedOf({ ...plug, ohms: 0.004 }).spread).toBeLessThan(expectedOf(plug).spread);
    // a factor of 1.5 that holds in 95 of 100: ln 1.5 / 1.96 = 0.2069
    expect(expectedOf({ ...plug, ohms: 0.004, ohmsTolerance: 1.5 }).spread).toBeCloseTo(0.2069, 4);
    expect(expectedOf({ ...plug, ohmsTolerance: 1.5 }).ohms).toBe(expectedOf(plug).ohms);
    expect(expectedOf({ ...plug, ohms: 0, ohmsTolerance: 1 })).toMatchObject({ ohms: 1e-6, spread: 0.01 });
  });

  it("stand in for a fuse's missing rating with the load's current, wider", () => {
    const fuse = { part: "fuse" as const, id: "fuse", style: "blade" as const };
    const rated = expectedOf({ ...fuse, ratingAmps: 20 }, { load: { transmitAmps: 15 } });
    const unrated = expectedOf(fuse, { load: { transmitAmps: 15 } });
    expect(unrated.ohms).toBeCloseTo(rated.ohms, 9);
    expect(unrated.spread).toBeGreaterThan(rated.spread);
    expect(expectedOf(fuse, { load: {} }).ohms).toBeCloseTo(rated.ohms, 9);
  });
});
