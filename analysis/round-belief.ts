/**
 * One round from its logs to belief: states, readings, and the probability of every hypothesis.
 */
import { type Condition, plainCondition } from "./inference/condition.ts";
import { suspectReadings } from "./inference/contradiction.ts";
import { believe, type Posterior } from "./inference/posterior.ts";
import type { Job } from "./job/job.ts";
import { jobInRound } from "./job/round.ts";
import { partsOf } from "./job/route.ts";
import { expectedParts } from "./loop/expected-part.ts";
import type { Reading } from "./reading/reading.ts";
import { type LoggedRecording, readingsOf } from "./reading/readings.ts";
import type { ReadLog } from "./state/cut-log.ts";
import { findStates } from "./state/states.ts";

export interface BelievedRound {
  readonly name: string;
  /** the job with its wiring as it was in this round */
  readonly job: Job;
  readonly logged: readonly LoggedRecording[];
  readonly readings: readonly Reading[];
  readonly posterior: Posterior;
  /** readings that nothing explains beside the others */
  readonly suspects: readonly Reading[];
}

/**
 * @param declared a checked job, as first declared
 * @param logs what the reader made of each recording, in the order of `declared.recordings`
 */
export function believeRound(declared: Job, name: string, logs: readonly ReadLog[]): BelievedRound {
  const job = jobInRound(declared, name);
  const inRound = job.recordings.flatMap((recording, index) =>
    recording.round === name ? [{ recording, log: logs[index]! }] : [],
  );
  const states = findStates(
    job,
    inRound.map(({ recording, log }) => ({ recording, samples: log.samples, cut: log.cut })),
  );
  const logged = inRound.map((entry, index): LoggedRecording => ({ ...entry, states: states[index]! }));
  const typed = job.readings.filter((reading) => reading.round === name);
  const readings = readingsOf(job, logged, typed);
  const posterior = believe(job, expectedParts(job), readings, askedConditions(job, readings));
  return { name, job, logged, readings, posterior, suspects: suspectReadings(posterior) };
}

/** Forecasts are made with the engine off; next readings may be idle, keyed, or with a jumper round a joint. */
export function askedConditions(job: Job, readings: readonly Reading[]): Condition[] {
  const [part] = partsOf(job);
  return [
    plainCondition("off", "transmit"),
    plainCondition("off", "idle"),
    ...(readings.some(({ engine }) => engine === "running") ? [plainCondition("running", "idle")] : []),
    ...(part === undefined ? [] : [{ ...plainCondition("off", "transmit"), bypassed: [part.id] }]),
  ];
}
