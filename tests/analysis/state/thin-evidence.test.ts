/** One supply log by itself: what is keying there, and what a regulator that hunts. Figures are invented. */
import { expect, test } from "vitest";
import { levelLog } from "../../fixtures/drawn-log.ts";
import { at, battery, keyedAt, kinds, load, noisy, recorded, states } from "./hand-drawn-round.ts";

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

test("with the engine running the run still loses its share of the step it lost before", () => {
  const grain = noisy(6, 0.004);
  const wave = hunting(0.035, 10);
  const off = { 0: 12.34, 10: 11.68, 20: 12.3, 32: 11.68, 48: 12.3, 57: 9.2, 58.5: 13.65 };
  const running = { 76: 13.29, 88: 13.65, 103: 13.29, 112: 13.65, 124: 13.29, 131: 13.65, 150: 13.29, 158: 13.65 };
  const noise = (i: number) => grain() + (i > 590 ? wave(i) : 0);
  const [found] = states({}, recorded(load, levelLog({ ...off, ...running }, 190, { noise })));
  const radio = (seconds: number) => at(found!, seconds)!.radio;
  expect([14, 40, 82, 107, 127, 154].map(radio)).not.toContain("idle");
  expect([5, 26, 70, 95, 118, 145, 175].map(radio)).not.toContain("transmit");
  expect(kinds(found!)).not.toContain("contact-break");
});
