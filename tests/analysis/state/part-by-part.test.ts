/** Drops that go all the way round the loop: a contact that gives way shows in one of them. Figures are invented. */
import { expect, test } from "vitest";
import { levelLog } from "../../fixtures/drawn-log.ts";
import { at, battery, clamp, ground, keyedAt, kinds, load, noisy, recorded, states } from "./hand-drawn-round.ts";

const supply = { from: "battery+", to: "load+" };
const drop = (place: object, keyed: number, gone: number, seed: number) =>
  recorded(place, levelLog(goneFor(keyed, gone), 60, { noise: noisy(seed, 0.0005) }));

/** Keyed at 10, 22 and 41 s; in the second transmission the current goes from 25 to 27 s. */
const goneFor = (keyed: number, gone: number) => ({ ...keyedAt(keyed * 0.05, keyed), 25: gone, 27: keyed });

test("current that goes while no drop rises was let go of by the load", () => {
  const amps = levelLog(goneFor(11.4, 0.1), 60, { resolution: 0.01, noise: noisy(3, 0.03) });
  for (const found of states({}, drop(supply, 0.3, 0.002, 1), drop(ground, 0.12, 0.001, 2), recorded(clamp, amps))) {
    expect(kinds(found).filter((kind) => kind === "load-reset")).toHaveLength(1);
    expect(kinds(found)).not.toContain("contact-break");
    expect(at(found, 26)).toMatchObject({ radio: "transmit", disturbance: "load-reset" });
  }
});

test("where part of the loop is not watched it may be a contact there", () => {
  for (const found of states({}, drop(ground, 0.12, 0.001, 4))) expect(kinds(found)).not.toContain("load-reset");
});

test("two volts logs that move apart break no contact where each drop of the loop stands still", () => {
  const apart = (idle: number, keyed: number, later: number) => ({ ...keyedAt(idle, keyed), 26: later });
  const found = states(
    {},
    recorded(battery, levelLog(apart(12.6, 12.2, 12.11), 60, { noise: noisy(5, 0.002) })),
    recorded(load, levelLog(apart(12.57, 11.8, 11.6), 60, { noise: noisy(6, 0.002) })),
    recorded(supply, levelLog(keyedAt(0.02, 0.29), 60, { noise: noisy(7, 0.0005) })),
    recorded(ground, levelLog(keyedAt(0.005, 0.11), 60, { noise: noisy(8, 0.0005) })),
  );
  for (const log of found) expect(kinds(log)).not.toContain("contact-break");
});
