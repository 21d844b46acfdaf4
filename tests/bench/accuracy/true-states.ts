/**
 * The readings that a round would give if its states were known: each log's samples in each true stretch, edges cut off,
 * with the meter's own errors left in. Goes in: logs as read and the truth. Comes out: what the program's finder of states gives.
 */
import type { Job } from "../../../analysis/job/job.ts";
import type { LogReading, Samples } from "../../../analysis/log/sample.ts";
import type { Reading } from "../../../analysis/reading/reading.ts";
import { type LoggedRecording, readingsOf } from "../../../analysis/reading/readings.ts";
import type { Plateau, RecordingStates } from "../../../analysis/state/plateau.ts";
import type { TrueEvent, TrueRecording, TrueRound, TrueStretch } from "../../fixtures/recipe/truth.ts";

/** Cut off after each edge, and never more than this share of what lies between two. */
const settleSeconds = 1.5;
const settleShare = 0.4;

export function readingsInTrueStates(job: Job, logs: readonly LogReading[], truth: TrueRound): Reading[] {
  const logged = job.recordings.map((recording, index): LoggedRecording => {
    const log = logs[index]!;
    return { recording, log, states: statesOf(log.samples, truth.recordings[index]!) };
  });
  return readingsOf(job, logged, job.readings);
}

function statesOf(samples: Samples, recording: TrueRecording): RecordingStates {
  const breaks = recording.events.filter(({ kind }) => kind === "contact-break");
  const resets = recording.events.filter(({ kind }) => kind === "load-reset");
  const plateaus = recording.stretches.flatMap((stretch) => [
    ...plateauOf(samples, stretch, outside(stretch, [...breaks, ...resets]), null),
    ...breaks
      .filter(({ seconds }) => seconds >= stretch.startSeconds && seconds < stretch.endSeconds)
      .flatMap(({ seconds, endSeconds }) =>
        plateauOf(samples, stretch, settled(seconds, endSeconds ?? seconds), "contact-break"),
      ),
  ]);
  return {
    plateaus,
    events: [],
    offsetSeconds: recording.offsetSeconds,
    offsetUncertaintySeconds: 0,
    driftPpm: recording.driftPpm,
    warnings: [],
  };
}

type Within = (seconds: number) => boolean;

const settled = (start: number, end: number): Within => {
  const cut = Math.min(settleSeconds, settleShare * (end - start));
  return (seconds) => seconds >= start + cut && seconds <= end - Math.min(cut, 0.3);
};

function outside({ startSeconds, endSeconds }: TrueStretch, breaks: readonly TrueEvent[]): Within {
  const inside = settled(startSeconds, endSeconds);
  const near = (seconds: number) =>
    breaks.some((one) => seconds > one.seconds - 0.3 && seconds < (one.endSeconds ?? one.seconds) + 0.6);
  return (seconds) => inside(seconds) && !near(seconds);
}

function plateauOf(
  samples: Samples,
  { startSeconds, endSeconds, engine, radio }: TrueStretch,
  within: Within,
  disturbance: Plateau["disturbance"],
): Plateau[] {
  const values = [...samples.values].filter((_, index) => within(samples.seconds[index]!)).sort((a, b) => a - b);
  if (values.length === 0) return [];
  const value = values[values.length >> 1]!;
  const spread = 1.4826 * middle(values.map((one) => Math.abs(one - value)));
  const uncertainty = spread / Math.sqrt(values.length);
  return [
    { startSeconds, endSeconds, engine, radio, value, uncertainty, samples: values.length, drift: 0, disturbance },
  ];
}

const middle = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!;
