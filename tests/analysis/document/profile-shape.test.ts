/** The potential profile's numbers, by hand for a small circuit: what is lost adds up leg by leg, each against its own post. */
import { describe, expect, it } from "vitest";
import {
  adjusted,
  BrokenVolts,
  niceStep,
  slotsOf,
  spanOf,
  staircase,
} from "../../../analysis/document/profile-shape.ts";
import type { Job, Q } from "../../../analysis/index.ts";

const loop: Job["loop"] = [
  { point: "battery+" },
  { part: "fuse", id: "main", style: "blade" },
  { part: "wire", id: "feed", awg: 10, metres: 4 },
  { point: "load+" },
  { part: "load" },
  { point: "load-" },
  { part: "connection", id: "stud", style: "ground-stud" },
  { point: "battery-" },
];
const q = (value: number, half = 0): Q => ({ value, low: value - half, high: value + half, uncertainty: half / 2 });
const drops: Record<string, Q> = { main: q(0.06, 0.03), feed: q(0.1, 0.04), stud: q(0.5, 0.1) };

describe("profile", () => {
  const slots = slotsOf({ loop });
  const stair = staircase(slots, (id) => drops[id] ?? null);

  it("falls from 0 at battery + and to 0 at battery −", () => {
    expect(stair.supply.map(({ volts }) => volts)).toEqual(
      [-0, -0, -0.06, -0.16, -0.16].map((volts) => expect.closeTo(volts, 12)),
    );
    expect(stair.return.map(({ volts }) => volts)).toEqual([0.5, 0.5, 0, 0].map((volts) => expect.closeTo(volts, 12)));
  });

  it("widens from each post in quadrature", () => {
    const end = stair.supply.at(-1)!;
    expect(end.high - end.volts).toBeCloseTo(Math.hypot(0.03, 0.04), 12);
    expect(end.volts - end.low).toBeCloseTo(0.05, 12);
    expect(stair.return[0]!.high).toBeCloseTo(0.6, 12);
  });

  it("lies on one axis that falls all the way, with equal volts equally long on both sides", () => {
    const scale = new BrokenVolts(spanOf([stair]));
    expect(scale.place(0, "supply")).toBe(0);
    expect(scale.place(0, "return")).toBeCloseTo(scale.length, 12);
    expect(scale.place(-0.1, "supply") - scale.place(0, "supply")).toBeCloseTo(0.1, 12);
    expect(scale.place(0.1, "return") - scale.place(0.2, "return")).toBeCloseTo(0.1, 12);
    expect(scale.place(-0.16, "supply")).toBeLessThan(scale.place(0.5, "return"));
  });

  it("gives what a leg loses beyond its parts to the suspects, by how likely each is", () => {
    const parts = new Map<string, Q>([
      ["lug", q(0.01)],
      ["fuse", q(0.02)],
      ["wire", q(0.1)],
    ]);
    const shared = adjusted(
      parts,
      q(0.53),
      new Map([
        ["lug", 0.3],
        ["fuse", 0.1],
      ]),
    );
    expect(shared.get("lug")!.value).toBeCloseTo(0.31, 12);
    expect(shared.get("fuse")!.value).toBeCloseTo(0.12, 12);
    expect(shared.get("wire")!.value).toBe(0.1);
    expect(adjusted(parts, null, new Map([["lug", 1]]))).toEqual(parts);
  });

  it("draws the step of a group that no reading separates, half at each of two like suspects", () => {
    const parts = new Map<string, Q>([
      ["lug", null],
      ["fuse", null],
      ["wire", q(0.1)],
      ["body", null],
    ]);
    const suspects = new Map([
      ["lug", 0.5],
      ["fuse", 0.5],
    ]);
    const shared = adjusted(parts, q(0.9), suspects);
    expect(shared.get("lug")!.value).toBeCloseTo(0.4, 12);
    expect(shared.get("fuse")!.value).toBeCloseTo(0.4, 12);
    expect(shared.get("body")).toBeNull();
  });

  it("steps in ones, twos and fives", () => {
    expect([0.011, 0.03, 0.07, 0.2, 1].map(niceStep)).toEqual(
      [0.02, 0.05, 0.1, 0.2, 1].map((step) => expect.closeTo(step, 12)),
    );
  });
});
