/**
 * From the logs of one round to their states: plateaus, events and one common clock.
 * All logs are judged together, so that a clear edge in one decides for the faint one in another.
 */
import type { Job, Recording } from "../job/job.ts";
import type { Samples } from "../log/sample.ts";
import { type Placed, placeLogs } from "./common-clock.ts";
import { type CutLog, cutLogs } from "./cut-log.ts";
import { edgeMomentsOf } from "./edge-moment.ts";
import { eventsOf } from "./events.ts";
import { type Judgement, judge } from "./judgement.ts";
import { withoutLonePulse } from "./lone-pulse.ts";
import { movementOf } from "./movement.ts";
import { overRangeIn } from "./over-range.ts";
import type { RecordingStates } from "./plateau.ts";
import { plateausOf } from "./plateaus.ts";
import type { ClockedLog, PreparedLog } from "./stretch.ts";

export interface LogInRound {
  readonly recording: Recording;
  readonly samples: Samples;
  readonly cut?: CutLog;
}

/**
 * States of all recordings of one round, judged together.
 * @param job a checked job
 * @param logs the round's recordings in the job's order, each with what was read of its log
 * @returns parallel to `logs`; a log without samples has no plateaus and a warning
 */
export function findStates(job: Job, logs: readonly LogInRound[]): RecordingStates[] {
  const filled = logs.filter((log) => log.samples.values.length > 0);
  if (filled.length === 0) return logs.map(() => empty);
  const prepared = prepare(job, filled);
  const alone = once((i) => judge(job, [onOwnClock(prepared[i]!)]), prepared.length);
  const placed = placeLogs(job, prepared, alone);
  const judged = judgeGroups(job, placed, alone);
  const found = withoutPulses(
    placed,
    placed.map((_, i) => statesOf(job, placed, judged, i, logs[0] === filled[0])),
  );
  return logs.map((log) => (log.samples.values.length > 0 ? found[filled.indexOf(log)]! : empty));
}

/** Each answer worked out when it is first asked for, and kept. */
function once<T>(work: (i: number) => T, count: number): (i: number) => T {
  const done = new Array<T | undefined>(count).fill(undefined);
  return (i) => {
    done[i] ??= work(i);
    return done[i];
  };
}

const empty: RecordingStates = {
  plateaus: [],
  events: [],
  offsetSeconds: null,
  offsetUncertaintySeconds: null,
  driftPpm: null,
  warnings: ["the log holds no number"],
};

const onOwnClock = (log: PreparedLog): ClockedLog => ({ log, startSeconds: 0, rate: 1, uncertaintySeconds: 0 });

/** Logs that were not cut yet are cut here. */
function prepare(job: Job, logs: readonly LogInRound[]): PreparedLog[] {
  const uncut = logs.filter((log) => log.cut === undefined);
  const cut = new Map(cutLogs(uncut.map(({ samples }) => samples)).map((each, i) => [uncut[i]!, each]));
  return logs.map((log) => {
    const own = log.cut ?? cut.get(log)!;
    const movement = movementOf(job, log.recording, own.turned);
    const overRange = movement.sight === "drop" ? overRangeIn(own.samples) : [];
    return { ...own, recording: log.recording, movement, overRange, edgeMoment: edgeMomentsOf(own, movement.sight) };
  });
}

/** Where in its group's judgement each log stands. */
interface Judged {
  readonly judgement: Judgement;
  readonly place: number;
}

function judgeGroups(job: Job, placed: readonly Placed[], alone: (i: number) => Judgement): Judged[] {
  const judged: Judged[] = new Array(placed.length);
  for (const group of new Set(placed.map((each) => each.group))) {
    const members = placed.map((_, i) => i).filter((i) => placed[i]!.group === group);
    const judgement =
      members.length === 1
        ? alone(members[0]!)
        : judge(
            job,
            members.map((i) => placed[i]!.clocked),
          );
    members.forEach((i, place) => {
      judged[i] = { judgement, place };
    });
  }
  return judged;
}

/** What a drop log on a clock of its own shows is held against the logs that were taken with it. */
function withoutPulses(placed: readonly Placed[], found: readonly RecordingStates[]): RecordingStates[] {
  const together = (i: number) => placed[i]!.clocked.log.recording.concurrent !== false;
  const isAlone = (i: number) => placed.every(({ group }, j) => j === i || group !== placed[i]!.group);
  return found.map((states, i) => {
    const { movement } = placed[i]!.clocked.log;
    const others = found.filter((_, j) => j !== i && together(j));
    return together(i) && isAlone(i) && movement.sight === "drop" ? withoutLonePulse(states, others) : states;
  });
}

function statesOf(
  job: Job,
  placed: readonly Placed[],
  judged: readonly Judged[],
  i: number,
  firstIsKnown: boolean,
): RecordingStates {
  const { clocked, reason, group } = placed[i]!;
  const { judgement, place } = judged[i]!;
  const onFirstClock = group === placed[0]!.group && firstIsKnown;
  const clocks = onFirstClock ? offsetOf(placed[0]!.clocked, clocked) : noOffset;
  return {
    plateaus: plateausOf(job, judgement, place, clocked.log),
    events: eventsOf(judgement, place, clocked.log),
    ...clocks,
    warnings: reason === null ? [] : [reason],
  };
}

const noOffset = { offsetSeconds: null, offsetUncertaintySeconds: null, driftPpm: null };

/** What this log's clock shows less what the first log's shows, at this log's first sample. */
function offsetOf(first: ClockedLog, log: ClockedLog) {
  if (first === log) return { offsetSeconds: 0, offsetUncertaintySeconds: 0, driftPpm: 0 };
  const shownByFirst = (log.startSeconds - first.startSeconds) / first.rate;
  const uncertainty = Math.hypot(log.uncertaintySeconds, first.uncertaintySeconds);
  const driftPpm = (first.rate / log.rate - 1) * 1e6;
  const a = first.log.samples;
  const b = log.log.samples;
  const sameFile = first.log.recording.file === log.log.recording.file;
  if (a.startEpochSeconds === null || b.startEpochSeconds === null) {
    return { offsetSeconds: -shownByFirst, offsetUncertaintySeconds: uncertainty, driftPpm };
  }
  if (sameFile) return { offsetSeconds: 0, offsetUncertaintySeconds: uncertainty, driftPpm };
  const [firstMoments, moments] = [first.log.moments, log.log.moments];
  const stamped = b.startEpochSeconds + moments.firstBeyondStamp - a.startEpochSeconds - firstMoments.firstBeyondStamp;
  return {
    offsetSeconds: stamped - shownByFirst,
    offsetUncertaintySeconds: Math.hypot(uncertainty, moments.firstUncertainty, firstMoments.firstUncertainty),
    driftPpm,
  };
}
