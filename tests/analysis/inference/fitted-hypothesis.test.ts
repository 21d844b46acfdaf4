/**
 * A contact that opens while the set is keyed, wide or in part: found from any size of it, where its own drop names it.
 * The set is starved then and draws what it will. Figures are invented, and agree round the loop.
 */
import { expect, test } from "vitest";
import { believe } from "../../../analysis/inference/posterior.ts";
import { partsOf } from "../../../analysis/job/route.ts";
import { expectedParts } from "../../../analysis/loop/expected-part.ts";
import type { Place, Reading } from "../../../analysis/reading/reading.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";
import { keyedLevel } from "../../fixtures/keyed-level.ts";

const job = declaredJob();
const volts = (from: string, to: string): Place => ({ quantity: "volts", from, to });
const places = {
  battery: volts("battery+", "battery-"),
  load: volts("load+", "load-"),
  fuse: volts("battery+", "fuse-out"),
  ground: volts("load-", "battery-"),
  clamp: { quantity: "amps", through: "feed" },
} as const satisfies Record<string, Place>;

type Levels = Readonly<Record<keyof typeof places, number>>;

const readingsOf = (levels: Levels, radio: "idle" | "transmit", disturbed: boolean): Reading[] =>
  Object.entries(places).map(([name, place]) =>
    keyedLevel({
      source: name,
      place,
      radio,
      value: levels[name as keyof Levels],
      noise: place.quantity === "amps" ? 0.02 : 0.0005,
      meter: name,
      counts: place.quantity === "amps" ? 0.05 : 0.002,
      session: name,
      seesSource: name === "battery" || name === "load",
      disturbed,
    }),
  );

const idle = { battery: 12.6, load: 12.585, fuse: 0.003, ground: 0.003, clamp: 0.6 };
const keyed = { battery: 12.47, load: 12.21, fuse: 0.05, ground: 0.06, clamp: 11.4 };

test.each([
  ["opens wide", { battery: 12.595, load: 0.08, fuse: 12.51, ground: 0.001, clamp: 0.05 }],
  ["opens in part, and starves the set", { battery: 12.57, load: 5.1, fuse: 7.42, ground: 0.012, clamp: 2.3 }],
  ["shifts by half an ohm", { battery: 12.5, load: 8.2, fuse: 4.12, ground: 0.048, clamp: 9 }],
  ["shifts by a little", { battery: 12.47, load: 11.77, fuse: 0.49, ground: 0.06, clamp: 11.4 }],
])("a contact that %s is found where its drop is", (_, broken) => {
  const readings = [
    ...readingsOf(idle, "idle", false),
    ...readingsOf(keyed, "transmit", false),
    ...readingsOf(broken, "transmit", true),
  ];
  const { beliefs } = believe(job, expectedParts(job), readings, []);
  const before = new Set(["battery-lug", "main-fuse"]);
  const found = beliefs.filter(
    ({ hypothesis: { faults } }) =>
      faults.length === 1 &&
      faults[0]!.cause === "intermittent-connection" &&
      before.has(partsOf(job)[faults[0]!.part]!.id),
  );
  const probability = found.reduce((sum, belief) => sum + belief.probability, 0);
  console.log(`probability of the contact before the fuse's far side: ${probability.toFixed(4)}`);
  expect(probability).toBeGreaterThan(0.95);
});
