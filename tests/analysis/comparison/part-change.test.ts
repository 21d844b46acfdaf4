/**
 * Part by part: what changed is said to have, what did not is not, and both columns agree where a part is the same.
 */
import { describe, expect, test } from "vitest";
import { badStud, diagnosed, loopWith, soundOhms, type TrueRound } from "./metered-round.ts";

const partsOf = (...[rounds, fields]: Parameters<typeof diagnosed>) =>
  new Map(diagnosed(rounds, fields).diagnosis.comparison!.parts.map((part) => [part.id, part]));
const before: TrueRound = { round: "before", ohms: badStud };
const group = ["plug-negative", "ground-stud"];
const sumOf = (parts: ReturnType<typeof partsOf>, ids: readonly string[]) =>
  ids.reduce((sum, id) => sum + parts.get(id)!.changeIsReal, 0);

describe("a repair", () => {
  const parts = partsOf([before, { round: "after" }]);

  test("changed one of the joints that the readings cannot tell apart, and nothing else", () => {
    expect(sumOf(parts, group)).toBeGreaterThan(0.98);
    for (const [id, { changeIsReal }] of parts) if (!group.includes(id)) expect(changeIsReal, id).toBeLessThan(0.05);
  });

  test("leaves every other part with the same ohms in both columns, and the true ones within them", () => {
    for (const [id, { ohmsBefore, ohmsAfter }] of parts) {
      if (group.includes(id) || ohmsBefore === null || ohmsAfter === null) continue;
      const truth = soundOhms[id as keyof typeof soundOhms];
      expect(ohmsBefore.low, id).toBeLessThanOrEqual(truth);
      expect(ohmsBefore.high, id).toBeGreaterThanOrEqual(truth);
      expect(Math.abs(ohmsAfter.value / ohmsBefore.value - 1), id).toBeLessThan(0.05);
    }
  });
});

test("nothing has changed where nothing was touched, whatever else is different that day", () => {
  const same = partsOf([before, { round: "after", ohms: badStud }]);
  const otherDay = partsOf([
    before,
    { round: "after", ohms: badStud, restVolts: 12.35, transmitAmps: 10.2, meter: "m2", gain: 0.0005 },
  ]);
  for (const parts of [same, otherDay])
    for (const [id, { changeIsReal }] of parts) expect(changeIsReal, id).toBeLessThan(0.1);
});

test("a part read by itself is singled out", () => {
  const parts = partsOf([before, { round: "after", ohms: { "plug-positive": 0.04 } }]);
  expect(parts.get("plug-positive")!.changeIsReal).toBeGreaterThan(0.99);
  expect(parts.get("feed")!.changeIsReal).toBeLessThan(0.05);
});

test("a joint that is half mended has changed", () => {
  expect(sumOf(partsOf([before, { round: "after", ohms: { "ground-stud": 0.03 } }]), group)).toBeGreaterThan(0.9);
});

test("a conductor replaced is compared as the conductor that is there now", () => {
  // 4.5 m of 10 AWG for 16 AWG in its place: 0.061 Ω to 0.0152 Ω
  const parts = partsOf([{ round: "before", ohms: { feed: 0.061 } }, { round: "after" }], {
    loop: loopWith("feed", { awg: 16 }),
    rounds: [{ round: "after", changed: [{ id: "feed", awg: 10 }] }],
  });
  const { ohmsBefore, ohmsAfter, changeIsReal } = parts.get("feed")!;
  expect(changeIsReal).toBeGreaterThan(0.999);
  expect(ohmsBefore!.low).toBeLessThan(0.061);
  expect(ohmsBefore!.high).toBeGreaterThan(0.061);
  expect(ohmsAfter!.low).toBeLessThan(0.0152);
  expect(ohmsAfter!.high).toBeGreaterThan(0.0152);
  expect(parts.get("ground-lead")!.changeIsReal).toBeLessThan(0.05);
});

test("a part that was exchanged for one that is as good has not changed in what matters", () => {
  const parts = partsOf([{ round: "before" }, { round: "after" }], {
    rounds: [{ round: "after", changed: [{ id: "feed", insulationCelsius: 105 }] }],
  });
  expect(parts.get("feed")!.changeIsReal).toBeLessThan(0.5);
});

test("a part that a round says nothing of has no ohms there", () => {
  const parts = partsOf([before, { round: "after", stretches: [] }]);
  expect(parts.size).toBe(Object.keys(soundOhms).length);
  for (const { ohmsBefore, ohmsAfter, changeIsReal } of parts.values()) {
    for (const ohms of [ohmsBefore, ohmsAfter]) if (ohms !== null) expect(ohms.low).toBeLessThanOrEqual(ohms.high);
    expect(changeIsReal).toBeGreaterThanOrEqual(0);
    expect(changeIsReal).toBeLessThanOrEqual(1);
  }
});
