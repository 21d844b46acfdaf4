/** Dips that are a starter and dips that are not. Figures are invented. */
import { expect, test } from "vitest";
import { levelLog } from "../../fixtures/drawn-log.ts";
import { at, battery, keyedAt, kinds, load, noisy, recorded, states } from "./hand-drawn-round.ts";

const start = (low: number, seconds = 1) => ({
  ...keyedAt(12.5, 12.38),
  55: low,
  [55 + seconds]: 14.1,
  75: 14.1,
});

test.each([
  ["a car's", 9.4],
  ["a small engine's on a large battery", 12],
])("%s crank is one, whose end the charging shows", (_, low) => {
  const [found] = states({}, recorded(battery, levelLog(start(low), 90, { noise: noisy(1, 0.004) })));
  expect(kinds(found!).filter((kind) => kind === "engine-start")).toHaveLength(1);
  expect(kinds(found!).filter((kind) => kind === "keyed")).toHaveLength(3);
  expect(at(found!, 50)!.engine).toBe("off");
  expect(at(found!, 80)!.engine).toBe("running");
});

test("a sample that jumped out before it hides no crank", () => {
  const grain = noisy(2, 0.004);
  const spike = levelLog(start(11.7), 90, { noise: (i) => grain() + (i === 450 ? 6 : 0) });
  const [found] = states({}, recorded(battery, spike));
  expect(kinds(found!)).toContain("engine-start");
});

test("a slow battery log that saw little of a crank does not deny it", () => {
  const [, found] = states(
    {},
    recorded(load, levelLog(start(3.4), 90, { noise: noisy(3, 0.004) })),
    recorded(battery, levelLog(start(12), 90, { intervalSeconds: 1, noise: noisy(4, 0.004) })),
  );
  expect(kinds(found!).filter((kind) => kind === "engine-start")).toHaveLength(1);
});

test("an engine that stops is no transmission that begins", () => {
  const stop = { 0: 14.1, 8: 14.06, 20: 14.1, 36: 14.06, 52: 14.1, 68: 13.05, 92: 12.99, 108: 13.03 };
  const [found] = states({}, recorded(battery, levelLog(stop, 125, { noise: noisy(5, 0.002) })));
  expect(kinds(found!)).toContain("engine-stop");
  expect(at(found!, 80)!.radio).not.toBe("transmit");
  expect(at(found!, 80)!.engine).toBe("off");
});

test("a sample gone astray beside a keyed edge is no crank", () => {
  const grain = noisy(6, 0.004);
  const spike = { ...keyedAt(12.82, 12.56), 41.1: 9.9, 41.2: 12.56 };
  const [found] = states({}, recorded(battery, levelLog(spike, 60, { noise: grain })));
  expect(kinds(found!)).not.toContain("engine-start");
  expect(kinds(found!).filter((kind) => kind === "keyed")).toHaveLength(3);
});

test("a crank that a slow meter shows in one sample is one: the battery is a while on its way back", () => {
  const recovering = Object.fromEntries(
    [13.08, 13.13, 13.17, 13.2, 13.22, 13.23, 13.24, 13.25].map((volts, i) => [55.5 + i / 2, volts]),
  );
  const dip = { ...keyedAt(13.25, 13.0), 55: 10.85, ...recovering };
  const lithium = { battery: { type: "lithium" } } as const;
  const [found] = states(
    lithium,
    recorded(battery, levelLog(dip, 90, { intervalSeconds: 0.5, noise: noisy(7, 0.001) })),
  );
  expect(kinds(found!)).toContain("engine-start");
  expect(at(found!, 80)!.engine).toBe("running");
});

/** A short pull of half a volt on a battery that nothing charges afterwards; ripple from then on, or not. */
const pulled = (rippleVolts: number) => {
  const quiet = noisy(8, 0.0008);
  const lively = noisy(9, rippleVolts);
  const dip = { ...keyedAt(12.55, 12.5), 55: 12.1, 56: 12.53 };
  return levelLog(dip, 90, { intervalSeconds: 0.5, noise: (i) => (i > 112 ? lively() : quiet()) });
};

test("a shallow dip with ripple ever after is a crank, though nothing charges", () => {
  const [found] = states({}, recorded(battery, pulled(0.01)));
  expect(kinds(found!).filter((kind) => kind === "engine-start")).toHaveLength(1);
  expect(at(found!, 40)!.engine).toBe("off");
  expect(at(found!, 80)!.engine).toBe("running");
});

test("the same dip with nothing after it is some other load", () => {
  const [found] = states({}, recorded(battery, pulled(0.0008)));
  expect(kinds(found!)).not.toContain("engine-start");
});

const fan = { ...keyedAt(12.54, 12.18), 48: 12.2 };

test("a crank under a fan that was switched on shortly before is one, though nothing charges after it", () => {
  const crank = { ...fan, 62: 8.4, 63.5: 12.15 };
  const [found] = states({}, recorded(battery, levelLog(crank, 100, { noise: noisy(8, 0.003) })));
  expect(kinds(found!)).toContain("engine-start");
  expect(at(found!, 90)!.engine).toBe("running");
});

test("a key held long, with a fan beside it, hides no crank that follows", () => {
  const loaded = { 0: 12.59, 15: 10.8, 21: 12.49, 31: 10.75, 38: 12.47, 48: 9.74, 63: 11.37, 75: 2.7, 76: 13.96 };
  const [found] = states({}, recorded(load, levelLog(loaded, 110, { intervalSeconds: 1, noise: noisy(9, 0.01) })));
  expect(kinds(found!)).toContain("engine-start");
  expect([5, 70, 100].map((seconds) => at(found!, seconds)!.engine)).toEqual(["off", "off", "running"]);
});

test("a tired battery cranked soon after a transmission, and never charged, is cranked for all that", () => {
  const tired = {
    0: 12.54,
    10: 11.98,
    20: 12.52,
    32: 11.98,
    44: 12.3,
    46: 12.36,
    48: 5.6,
    49.2: 12.0,
    60: 11.6,
    70: 12.0,
  };
  const [found] = states({}, recorded(load, levelLog(tired, 90, { noise: noisy(11, 0.004) })));
  expect(kinds(found!)).toContain("engine-start");
  expect(at(found!, 80)!.engine).not.toBe("off");
  // The same, but keyed first: a contact that opens while keyed.
  const opened = { ...tired, 46: 11.9, 49.2: 11.9, 51: 12.3 };
  const [other] = states({}, recorded(load, levelLog(opened, 90, { noise: noisy(12, 0.004) })));
  expect(kinds(other!)).not.toContain("engine-start");
});
