/** Speech on a set whose current follows the voice, in every log that moves with it. Figures are invented. */
import { expect, test } from "vitest";
import { chanceOf } from "../../fixtures/chance.ts";
import { levelLog } from "../../fixtures/drawn-log.ts";
import { at, ground, kinds, load, noisy, recorded, states } from "./hand-drawn-round.ts";

const ssb = { load: { idleAmps: 1, transmitAmps: 20, emission: "ssb" as const } };

/** Share of full current: syllables of a third of a second, keyed 20–34 and 52–65 s. */
function voice(seed: number, intervalSeconds: number) {
  const chance = chanceOf(seed);
  const syllables = Array.from({ length: 300 }, () => (chance.yes(0.2) ? 0.06 : chance.between(0.25, 1)));
  return (i: number) => {
    const t = i * intervalSeconds;
    return (t >= 20 && t < 34) || (t >= 52 && t < 65) ? syllables[Math.floor(t * 3)]! : 0;
  };
}

test.each([
  ["a drop", ground, 0.02, 0.6, 0.1],
  ["a drop, logged every half second", ground, 0.02, 0.6, 0.5],
  ["load volts", load, 12.5, -0.9, 0.1],
])("speech in %s is one transmission with no broken contact", (_, place, idle, full, intervalSeconds) => {
  const talking = voice(4, intervalSeconds);
  const grain = noisy(5, 0.002);
  const log = levelLog({ 0: idle }, 85, { intervalSeconds, noise: (i) => full * talking(i) + grain() });
  const [found] = states(ssb, recorded(place, log));
  expect(kinds(found!)).toEqual(["keyed", "released", "keyed", "released"]);
  expect(at(found!, 27)).toMatchObject({ radio: "transmit", disturbance: null });
});

test("logs of speech are laid over each other by keying, not by syllables", () => {
  const [quick, slow] = [voice(6, 0.1), voice(6, 0.5)];
  const [first, second] = states(
    ssb,
    recorded(load, levelLog({ 0: 12.5 }, 85, { noise: (i) => -0.9 * quick(i) + 0.001 * (-1) ** i })),
    recorded(ground, levelLog({ 0: 0.02 }, 85, { intervalSeconds: 0.5, noise: (i) => 0.6 * slow(i) })),
  );
  expect(first!.offsetSeconds).toBe(0);
  expect(Math.abs(second!.offsetSeconds!)).toBeLessThan(0.5);
});

test("a contact that opens while somebody speaks is still a broken contact", () => {
  const talking = voice(7, 0.1);
  const open = (i: number) => i >= 240 && i < 270;
  const log = levelLog({ 0: 12.5 }, 85, { noise: (i) => (open(i) ? -12.49 : -0.9 * talking(i)) });
  const [found] = states(ssb, recorded(load, log));
  expect(kinds(found!).filter((kind) => kind === "contact-break")).toHaveLength(1);
  expect(at(found!, 25.5)).toMatchObject({ radio: "transmit", disturbance: "contact-break" });
});
