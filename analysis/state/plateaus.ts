/**
 * A log's plateaus: its share of the group's stretches, those of one state and one level taken together, each with its level.
 */
import type { EngineState, Job, RadioState } from "../job/job.ts";
import type { Seconds } from "../units.ts";
import { isPulsed } from "./emission.ts";
import type { Judgement } from "./judgement.ts";
import { levelOf } from "./level.ts";
import { noiseAt } from "./noise.ts";
import { pauseSeconds } from "./pause-of-log.ts";
import type { Plateau } from "./plateau.ts";
import type { PreparedLog } from "./stretch.ts";

/** Stretches whose levels differ by less than this many uncertainties in every log are one plateau. */
const sameLevel = 5;

/** What a state begins with and is over so soon is on its way to the level that follows. */
const settlingSeconds: Seconds = 1.2;

interface Run {
  readonly first: number;
  last: number;
}

/**
 * Plateaus of one log of a judged group; a crank is no plateau. Those of one state meet, though samples that may lie on
 * either side of another log's step are of no level.
 * @param place the log's place in its group
 */
export function plateausOf(job: Job, judged: Judgement, place: number, log: PreparedLog): Plateau[] {
  const found = runsOf(job, judged).flatMap((run) => {
    const plateau = plateauOf(judged, place, log, run);
    return plateau === null ? [] : [{ plateau, run }];
  });
  for (let i = 1; i < found.length; i++) {
    const [before, after] = [found[i - 1]!, found[i]!];
    const { to } = judged.stretches[before.run.last]!.looks[place]!;
    const { from } = judged.stretches[after.run.first]!.looks[place]!;
    if (pausedWithin(log, to, from) || !sameState(judged, before.run.last, after.run.first)) continue;
    const middle = (before.plateau.endSeconds + after.plateau.startSeconds) / 2;
    before.plateau = { ...before.plateau, endSeconds: middle };
    after.plateau = { ...after.plateau, startSeconds: middle };
  }
  return found.map(({ plateau }) => plateau);
}

/** Whether a state goes on from one stretch to another: what a slow log did not sample in between is of it. */
function sameState(judged: Judgement, first: number, last: number): boolean {
  for (let k = first + 1; k <= last; k++) {
    if (!goesOn(judged, k) || judged.cranks.some((crank) => k >= crank.first && k <= crank.last)) return false;
  }
  return true;
}

const goesOn = ({ radio, engine, disturbance }: Judgement, k: number): boolean =>
  radio[k] === radio[k - 1] && engine[k] === engine[k - 1] && disturbance[k] === disturbance[k - 1];

function pausedWithin(log: PreparedLog, from: number, to: number): boolean {
  for (let i = Math.max(from, 1); i <= Math.min(to, log.samples.seconds.length - 1); i++)
    if (pausedBefore(log, i) || overRangeBefore(log, i) !== undefined) return true;
  return false;
}

function runsOf(job: Job, judged: Judgement): Run[] {
  const runs: Run[] = [];
  for (let k = 0; k < judged.stretches.length; k++) {
    if (judged.cranks.some((crank) => k >= crank.first && k <= crank.last)) continue;
    const run = runs[runs.length - 1];
    if (run !== undefined && run.last === k - 1 && continues(job, judged, run, k)) run.last = k;
    else runs.push({ first: k, last: k });
  }
  return runs;
}

/** Whether a stretch is one with those before it: same state, and no log shows a step between them that is not settling. */
function continues(job: Job, judged: Judgement, run: Run, k: number): boolean {
  if (!goesOn(judged, k)) return false;
  if (judged.radio[k] === "transmit" && isPulsed(job)) return true;
  if (judged.stretches[k - 1]!.end - judged.stretches[run.first]!.start < settlingSeconds) return true;
  const before = judged.stretches[k - 1]!.looks;
  return judged.stretches[k]!.looks.every((look, i) => {
    const step = Math.abs(look.level - before[i]!.level);
    return Number.isNaN(step) || step < sameLevel * Math.hypot(look.uncertainty, before[i]!.uncertainty);
  });
}

function plateauOf(judged: Judgement, place: number, log: PreparedLog, run: Run): Plateau | null {
  const from = judged.stretches[run.first]!.looks[place]!.from;
  const to = judged.stretches[run.last]!.looks[place]!.to;
  if (to <= from) return null;
  const level = levelOf(log.samples, from, to, noiseAt(log.noise, (from + to) >> 1));
  return {
    startSeconds: startOf(log, from),
    endSeconds: endOf(log, to),
    engine: judged.engine[run.first]! as EngineState | null,
    radio: (log.recording.radio ?? judged.radio[run.first]!) as RadioState | null,
    ...level,
    disturbance: judged.disturbance[run.first]!,
  };
}

/** A step came between two samples: half way, unless the log paused there. */
function startOf(log: PreparedLog, from: number): Seconds {
  const { seconds } = log.samples;
  if (from === 0) return 0;
  const open = overRangeBefore(log, from);
  if (open !== undefined) return open.end;
  return pausedBefore(log, from) ? seconds[from]! : (seconds[from - 1]! + seconds[from]!) / 2;
}

function endOf(log: PreparedLog, to: number): Seconds {
  const { seconds } = log.samples;
  const open = overRangeBefore(log, to);
  if (open !== undefined) return open.start;
  if (to >= seconds.length || pausedBefore(log, to)) return seconds[to - 1]!;
  return (seconds[to - 1]! + seconds[to]!) / 2;
}

export const overRangeBefore = (log: PreparedLog, index: number) => log.overRange.find((span) => span.index === index);

export function pausedBefore(log: PreparedLog, index: number): boolean {
  const { seconds, intervalSeconds } = log.samples;
  return seconds[index]! - seconds[index - 1]! > pauseSeconds(intervalSeconds);
}
