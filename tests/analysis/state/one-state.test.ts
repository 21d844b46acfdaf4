/** Logs in which no keying was found: what may be said of them. Figures are invented. */
import { expect, test } from "vitest";
import { levelLog } from "../../fixtures/drawn-log.ts";
import { at, battery, clamp, noisy, recorded, states } from "./hand-drawn-round.ts";

const declared = { load: { idleAmps: 0.6, transmitAmps: 20 } };

test("a long battery log in which nothing steps was idle all through", () => {
  const [found] = states(declared, recorded(battery, levelLog({ 0: 12.6 }, 120, { noise: noisy(1, 0.002) })));
  expect(found!.plateaus.every((plateau) => plateau.radio === "idle")).toBe(true);
});

test("one that steps as keying would is undecided, not idle, where nothing says when it was keyed", () => {
  const once = levelLog({ 0: 12.6, 20: 12.25, 100: 12.58 }, 140, { intervalSeconds: 2, noise: noisy(2, 0.002) });
  const [found] = states(declared, recorded(battery, once));
  expect(at(found!, 60)!.radio).not.toBe("idle");
});

test.each([
  ["idle", 0.6],
  ["transmit", 19.5],
])("a clamp that stands tells %s by the declared current", (radio, amps) => {
  const [found] = states(declared, recorded(clamp, levelLog({ 0: amps }, 30, { noise: noisy(3, 0.02) })));
  expect(found!.plateaus[0]!.radio).toBe(radio);
});
