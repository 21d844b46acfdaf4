/** A battery by itself: what is keying there, and what a regulator that hunts. Figures are invented. */
import { expect, test } from "vitest";
import { levelLog } from "../../fixtures/drawn-log.ts";
import { at, battery, keyedAt, kinds, noisy, recorded, states } from "./hand-drawn-round.ts";

const hunting = (volts: number, seconds: number) => (i: number) => volts * Math.sin((2 * Math.PI * i) / (10 * seconds));

test.each([9, 13, 21])("a regulator that hunts every %i s keys nothing", (seconds) => {
  const grain = noisy(seconds, 0.004);
  const wave = hunting(0.04, seconds);
  const log = levelLog({ 0: 14.2 }, 120, { noise: (i) => grain() + wave(i) });
  const [found] = states({}, recorded(battery, log));
  expect(kinds(found!)).not.toContain("keyed");
  expect(found!.plateaus.map((plateau) => plateau.radio)).not.toContain("transmit");
});

test("keying that stands out of the hunting is found", () => {
  const grain = noisy(4, 0.004);
  const wave = hunting(0.02, 17);
  const log = levelLog(keyedAt(14.2, 14.06), 60, { noise: (i) => grain() + wave(i) });
  const [found] = states({}, recorded(battery, log));
  expect(kinds(found!).filter((kind) => kind === "keyed")).toHaveLength(3);
  expect([12, 26, 44].map((seconds) => at(found!, seconds)!.radio)).toEqual(["transmit", "transmit", "transmit"]);
  expect([18, 35, 55].map((seconds) => at(found!, seconds)!.radio)).toEqual(["idle", "idle", "idle"]);
});

test("what stands far below a keyed battery is no transmission", () => {
  const stop = { 0: 14.2, 10: 14.16, 16: 14.2, 24: 14.16, 33: 14.2, 40: 12.9 };
  const [found] = states({}, recorded(battery, levelLog(stop, 80, { noise: noisy(5, 0.003) })));
  expect(at(found!, 60)!.radio).not.toBe("transmit");
  expect(at(found!, 60)!.engine).toBe("off");
});
