/**
 * Contacts that open or shift while the key is held, and what they were once taken for.
 * Physics: keying lowers the battery; a contact that gives way lets it rise, and pulls the load down. Figures are invented.
 */
import { describe, expect, test } from "vitest";
import { levelLog } from "../../fixtures/drawn-log.ts";
import { at, battery, clamp, ground, keyedAt, kinds, load, noisy, recorded, states } from "./hand-drawn-round.ts";

const count = (of: readonly string[], kind: string) => of.filter((each) => each === kind).length;
const fineGrain = (seed: number) => ({ noise: noisy(seed, 0.003) });

/** Each of the three transmissions keeps its level for a while, then stands at another until the key is let go. */
const shiftedIn = (idle: number, keyed: number, shifted: number) => ({
  ...keyedAt(idle, keyed),
  12: shifted,
  25: shifted,
  43: shifted,
});
/** In each of them it stands at another for a second and comes back. */
const brokenIn = (idle: number, keyed: number, broken: number) => ({
  ...shiftedIn(idle, keyed, broken),
  13: keyed,
  26: keyed,
  44: keyed,
});

test("a contact that shifts in every transmission is no steady bad joint", () => {
  const found = states(
    {},
    recorded(battery, levelLog(shiftedIn(12.62, 12.5, 12.505), 60, fineGrain(1))),
    recorded(load, levelLog(shiftedIn(12.6, 12.3, 11.2), 60, fineGrain(2))),
    recorded(clamp, levelLog(shiftedIn(0.6, 11.4, 11.0), 60, { resolution: 0.01, noise: noisy(3, 0.03) })),
  );
  for (const log of found) {
    expect(count(kinds(log), "keyed")).toBe(3);
    expect(count(kinds(log), "contact-break")).toBe(3);
    expect(at(log, 23.5)).toMatchObject({ radio: "transmit", disturbance: null });
    expect(at(log, 28)).toMatchObject({ radio: "transmit", disturbance: "contact-break" });
  }
});

describe("a break bigger than the transmission", () => {
  const found = states(
    {},
    recorded(battery, levelLog(brokenIn(12.62, 12.54, 12.6), 60, fineGrain(4))),
    recorded(load, levelLog(brokenIn(12.6, 12.42, 6.1), 60, fineGrain(5))),
    recorded(ground, levelLog(brokenIn(0.004, 0.006, 6.4), 60, { noise: noisy(6, 0.002) })),
  );

  test("leaves the transmission a transmission", () => {
    for (const log of found) {
      expect(count(kinds(log), "keyed")).toBe(3);
      for (const seconds of [11, 14, 23.5, 28, 42, 45.5]) expect(at(log, seconds)!.radio).toBe("transmit");
      for (const seconds of [5, 18, 35, 55]) expect(at(log, seconds)!.radio).toBe("idle");
    }
  });

  test("is a break in each", () => {
    for (const log of found) {
      expect(count(kinds(log), "contact-break")).toBe(3);
      for (const seconds of [12.5, 25.5, 43.5]) expect(at(log, seconds)!.disturbance).toBe("contact-break");
    }
  });
});

test("drops beside an open contact stand higher before and after it, and are no break then", () => {
  const opened = (idle: number, keyed: number, open: number) => ({
    0: idle,
    10: keyed,
    12: open,
    13.5: keyed,
    15: open,
    16: keyed,
    17: idle,
    30: keyed,
    36: idle,
  });
  const found = states(
    {},
    recorded(load, levelLog(opened(12.6, 12.3, 5), 50, fineGrain(7))),
    recorded(battery, levelLog(opened(12.62, 12.5, 12.59), 50, fineGrain(8))),
    recorded(ground, levelLog(opened(0.01, 0.11, 0.07), 50, { noise: noisy(9, 0.001) })),
  );
  for (const log of found) {
    expect(at(log, 11)).toMatchObject({ radio: "transmit", disturbance: null });
    expect(at(log, 14.2)).toMatchObject({ radio: "transmit", disturbance: null });
    expect(count(kinds(log), "contact-break")).toBe(2);
  }
});

test("a break of a few samples is a level, with what a meter averaged at its edges no level of its own", () => {
  const volts = levelLog({ 0: 12.6, 10: 12.3, 14: 9.4, 14.2: 6.5, 15: 9.4, 15.2: 12.3, 20: 12.6 }, 30, {
    intervalSeconds: 0.2,
    ...fineGrain(10),
  });
  const [found] = states(
    {},
    recorded(load, volts),
    recorded(
      clamp,
      levelLog({ 0: 0.6, 10: 11.4, 14: 5, 15.2: 11.4, 20: 0.6 }, 30, { resolution: 0.01, noise: noisy(11, 0.03) }),
    ),
  );
  const breaks = found!.plateaus.filter(({ disturbance }) => disturbance === "contact-break");
  expect(breaks).toHaveLength(1);
  expect(Math.abs(breaks[0]!.value - 6.5)).toBeLessThan(0.02);
  expect(count(kinds(found!), "keyed")).toBe(1);
});

test("a contact that opens in a load log alone starts no engine", () => {
  const levels = { ...keyedAt(12.78, 12.66), 12: 9.5, 12.25: 0.04, 12.5: 12.66 };
  const [found] = states({}, recorded(load, levelLog(levels, 60, { intervalSeconds: 0.25, ...fineGrain(12) })));
  expect(kinds(found!)).not.toContain("engine-start");
  expect(count(kinds(found!), "contact-break")).toBe(1);
});

test("a display that moves by whole counts, written with a digit more, breaks no contact", () => {
  const flicker = (i: number) => ((i * 7) % 11 < 5 ? 0.01 : 0);
  const drop = levelLog({ 0: 0, 10: 0.01, 15: 0, 22: 0.01, 30: 0, 41: 0.01, 47: 0 }, 60, {
    intervalSeconds: 1,
    noise: flicker,
  });
  const found = states(
    {},
    recorded(ground, drop),
    recorded(clamp, levelLog(keyedAt(0.6, 11.4), 60, { resolution: 0.01, noise: noisy(13, 0.03) })),
  );
  for (const log of found) expect(kinds(log)).not.toContain("contact-break");
});
