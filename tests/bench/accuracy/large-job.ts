/**
 * How long belief takes on one large job: 20 parts, engine off and running, idle and keyed, 30 readings. All figures are
 * invented; what was read is what a loop with one bad joint shows, by the model's own circuit: only the time is judged.
 */

import { plainCondition } from "../../../analysis/inference/condition.ts";
import { loopModel } from "../../../analysis/inference/loop-model.ts";
import { believe } from "../../../analysis/inference/posterior.ts";
import { prepareRound, probeOf, shown } from "../../../analysis/inference/round-setting.ts";
import type { LoopItem, TypedReading } from "../../../analysis/job/job.ts";
import type { ConnectionStyle } from "../../../analysis/job/part-styles.ts";
import { expectedParts } from "../../../analysis/loop/expected-part.ts";
import type { Place } from "../../../analysis/reading/reading.ts";
import { readingsOf } from "../../../analysis/reading/readings.ts";
import { askedConditions } from "../../../analysis/round-belief.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";
import { quantile } from "./scores.ts";

const joint = (id: string, style: ConnectionStyle): LoopItem => ({
  part: "connection",
  id,
  style,
});
const wire = (id: string, metres: number): LoopItem => ({ part: "wire", id, awg: 8, metres });
const point = (name: string): LoopItem => ({ point: name });
const loop: LoopItem[] = [
  point("battery+"),
  joint("battery-lug", "ring-lug"),
  { part: "fuse", id: "main-fuse", style: "bolt-down", ratingAmps: 60 },
  point("fuse-out"),
  wire("main-feed", 2),
  joint("bus-lug", "ring-lug"),
  point("bus-in"),
  { part: "switch", id: "switch" },
  joint("switch-out", "push-on"),
  point("switched"),
  wire("cross-feed", 1.5),
  joint("splice", "plug"),
  { part: "fuse", id: "branch-fuse", style: "blade", ratingAmps: 20 },
  point("branch-out"),
  wire("feed", 3),
  joint("plug-positive", "plug"),
  point("load+"),
  { part: "load" },
  point("load-"),
  joint("plug-negative", "plug"),
  wire("ground-lead", 0.6),
  joint("ground-stud", "ground-stud"),
  point("body-at-load"),
  { part: "chassis", id: "body" },
  joint("body-strap", "strap"),
  point("frame"),
  wire("frame-lead", 0.4),
  joint("frame-lug", "ring-lug"),
  joint("battery-strap", "strap"),
  joint("battery-negative-lug", "ring-lug"),
  point("battery-"),
];
const job = declaredJob({
  loop,
  meters: [
    { id: "m1", volts: { percentOfReading: 0.1, counts: 2, resolution: 0.001 } },
    { id: "clamp", amps: { percentOfReading: 2, counts: 5, resolution: 0.1 } },
  ],
});

const conditions = (["off", "running"] as const).flatMap((engine) =>
  (["idle", "transmit"] as const).map((radio) => plainCondition(engine, radio)),
);
const volts = (from: string, to: string): Place => ({ quantity: "volts", from, to });
const everywhere = [
  volts("battery+", "battery-"),
  volts("load+", "load-"),
  volts("battery+", "load+"),
  volts("load-", "battery-"),
  { quantity: "amps", through: "feed" } as const,
];
const keyedOff = ["fuse-out", "bus-in", "switched", "branch-out"].map((to) => volts("battery+", to));
const more = [...keyedOff, ...["body-at-load", "frame"].map((to) => volts("load-", to))];

/** @returns how large it is, and milliseconds of some runs one after another */
export function largeJobMilliseconds(runs = 7): { parts: number; readings: number; median: number; worst: number } {
  const expected = expectedParts(job);
  const setting = prepareRound(job, expected, [], conditions);
  const bad = expected.findIndex(({ id }) => id === "switch-out");
  const model = loopModel(setting, { faults: [{ cause: "high-resistance-connection", part: bad }], prior: 1 });
  const values = model.decode(new Float64Array(model.unknowns));
  const taken = conditions.flatMap((condition, index) => {
    const solution = model.solve(values, condition);
    return [...everywhere, ...(index === 1 || index === 3 ? more.slice(0, index === 1 ? 6 : 4) : [])].map(
      (place): TypedReading => {
        const value = shown(probeOf(job, place), solution);
        const common = { round: "before", engine: condition.engine!, radio: condition.radio };
        return place.quantity === "volts"
          ? { ...common, meter: "m1", from: place.from, to: place.to, volts: Math.round(value * 1000) / 1000 }
          : { ...common, meter: "clamp", through: place.through, amps: Math.round(value * 10) / 10 };
      },
    );
  });
  const readings = readingsOf(job, [], taken);
  const asked = askedConditions(job, readings);
  const times = Array.from({ length: runs }, () => {
    const started = performance.now();
    believe(job, expected, readings, asked);
    return performance.now() - started;
  });
  return { parts: expected.length, readings: readings.length, median: quantile(times, 0.5), worst: Math.max(...times) };
}
