/** What happens while the key is held, and what only looks like it. Figures are invented. */
import { expect, test } from "vitest";
import { levelLog } from "../../fixtures/drawn-log.ts";
import { at, clamp, ground, keyedAt, kinds, load, noisy, recorded, states } from "./hand-drawn-round.ts";

test("another load of a keyed step's size below transmissions is none itself", () => {
  const engine = { ...keyedAt(0.4, 4.2), 55: 4.3, 80: 8.4, 85: 4.3, 98: 8.4, 112: 4.3 };
  const [found] = states(
    { load: { idleAmps: 0.4, transmitAmps: 5.1 } },
    recorded(clamp, levelLog(engine, 125, { resolution: 0.01, noise: noisy(1, 0.02) })),
  );
  expect(at(found!, 70)!.radio).toBe("idle");
  expect(at(found!, 105)!.radio).toBe("transmit");
  expect(kinds(found!)).not.toContain("contact-break");
});

test("a meter that averages over a set's letting go sees no broken contact", () => {
  /** keyed 30–44 and 60–74 s, letting go for 0.7 s in every 1.9 s */
  const amps = (t: number): number => {
    const since = t >= 60 ? t - 60 : t - 30;
    const keyed = (t >= 10 && t < 20) || (t >= 30 && t < 44) || (t >= 60 && t < 74);
    return !keyed ? 0 : t >= 30 && since % 1.9 > 1.2 ? -0.05 : 1;
  };
  const averaged = (i: number) =>
    Array.from({ length: 20 }, (_, k) => amps(i + k / 20)).reduce((a, b) => a + b, 0) / 20;
  const grain = noisy(2, 0.003);
  const slow = levelLog({ 0: 12.4 }, 95, { intervalSeconds: 1, noise: (i) => -2.2 * averaged(i) + grain() });
  const quick = levelLog({ 0: 0.09 }, 95, { noise: (i) => 1.15 * amps(i / 10) });
  for (const logs of [[recorded(load, slow)], [recorded(load, slow), recorded(ground, quick)]]) {
    for (const found of states({}, ...logs)) expect(kinds(found)).not.toContain("contact-break");
  }
});

test("an open contact weighs nothing in how high load volts step when keyed", () => {
  const broken = { ...keyedAt(12.4, 11.5), 12: 0, 13: 11.5, 24: 0, 27: 11.5, 42: 0, 45: 11.5 };
  const [found] = states({}, recorded(load, levelLog(broken, 60, { intervalSeconds: 0.25, noise: noisy(3, 0.003) })));
  expect(kinds(found!).filter((kind) => kind === "contact-break")).toHaveLength(3);
  expect(kinds(found!).filter((kind) => kind === "keyed")).toHaveLength(3);
});

test("a set that cycles far above its declared minimum holds one transmission", () => {
  const levels: Record<number, number> = { 0: 14.2, 80: 14.2 };
  for (const begin of [10, 40]) {
    for (let k = 0; k < 5; k++) {
      levels[begin + 2 * k] = 12.4;
      levels[begin + 2 * k + 1.2] = 14.25;
    }
    levels[begin + 10] = 14.2;
  }
  const job = { load: { idleAmps: 0.6, transmitAmps: 15, minimumVolts: 10.8 } };
  const [found] = states(job, recorded(load, levelLog(levels, 90, { noise: noisy(4, 0.004) }), { engine: "running" }));
  expect(kinds(found!).filter((kind) => kind === "keyed")).toHaveLength(2);
  expect(kinds(found!).filter((kind) => kind === "load-reset").length).toBeGreaterThanOrEqual(8);
});

test("bursts so short that a meter mixes two levels are no contact that gives way in between", () => {
  const resets = {
    25: 10.36,
    26.25: 12.74,
    27.25: 10.61,
    27.5: 10.34,
    28.25: 12.72,
    29: 11.12,
    29.25: 10.33,
    29.5: 12.58,
  };
  const log = { 0: 12.58, 10: 10.34, 15: 12.58, ...resets, 40: 10.35, 47: 12.58 };
  const [found] = states({}, recorded(load, levelLog(log, 60, { intervalSeconds: 0.25, noise: noisy(4, 0.005) })));
  expect(kinds(found!)).not.toContain("contact-break");
  expect(kinds(found!).filter((kind) => kind === "load-reset")).toHaveLength(2);
  expect(kinds(found!).filter((kind) => kind === "keyed")).toHaveLength(3);
});
