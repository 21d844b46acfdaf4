/** Small rounds drawn by hand for the tests of states: where a log was taken, and what was found of it. All figures are invented. */
import type { Job, Recording } from "../../../analysis/job/job.ts";
import type { Samples } from "../../../analysis/log/sample.ts";
import type { RecordingStates } from "../../../analysis/state/plateau.ts";
import { findStates, type LogInRound } from "../../../analysis/state/states.ts";
import { chanceOf } from "../../fixtures/chance.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";

export const battery = { from: "battery+", to: "battery-" };
export const load = { from: "load+", to: "load-" };
export const ground = { from: "load-", to: "battery-" };
export const clamp = { through: "feed" };

export function recorded(place: object, samples: Samples, more: object = {}): LogInRound {
  const quantity = "through" in place ? "amps" : "volts";
  const file = `${Object.values(place).join("-")}.csv`;
  return { recording: { file, round: "before", quantity, ...place, ...more } as Recording, samples };
}

export const states = (job: Partial<Job>, ...logs: LogInRound[]): RecordingStates[] =>
  findStates(declaredJob({ recordings: logs.map((log) => log.recording), ...job }), logs);

export const kinds = (found: RecordingStates): string[] => found.events.map((event) => event.kind);
export const at = (found: RecordingStates, seconds: number) =>
  found.plateaus.find((plateau) => plateau.startSeconds <= seconds && seconds < plateau.endSeconds);
export const noisy = (seed: number, size: number) => {
  const chance = chanceOf(seed);
  return () => size * chance.normal();
};

/** Keyed three times: 10–15, 22–30, 41–47 s; idle otherwise. */
export const keyedAt = (idle: number, keyed: number, shift = 0): Record<number, number> => ({
  0: idle,
  [10 + shift]: keyed,
  [15 + shift]: idle,
  [22 + shift]: keyed,
  [30 + shift]: idle,
  [41 + shift]: keyed,
  [47 + shift]: idle,
});
