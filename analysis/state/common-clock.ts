/**
 * One clock for all logs of a round: which logs lie over each other, and where each stands on the others' time.
 */
import type { Job } from "../job/job.ts";
import type { Seconds } from "../units.ts";
import { type ClockMatch, type EdgeTrain, matchClocks } from "./clock-match.ts";
import { edgeTrain } from "./edge-train.ts";
import { isPulsed } from "./emission.ts";
import { matchFaint } from "./faint-match.ts";
import { mergeTrains, onGroupClock } from "./group-train.ts";
import type { Judgement } from "./judgement.ts";
import { type ClockedLog, lastSecond, type PreparedLog } from "./stretch.ts";

export interface Placed {
  /** logs on one clock bear one number */
  readonly group: number;
  readonly clocked: ClockedLog;
  /** why the log is not on the clock of the first; null where it is */
  readonly reason: string | null;
}

/** A match counts when it is this much better than the next best, natural-log units: about five to one. */
const clearMargin = 1.6;
/** So much better that nothing else is asked. */
const certainMargin = 6;
const trustStamps: Seconds = 60;
const sameFileUncertainty: Seconds = 1e-3;

/**
 * Places every log of a round on a group's clock.
 * A group begins with the log that shows keying best; each further log is laid over the edges of all that are in it.
 * @param logs all with samples
 * @param alone a log judged by itself, by its place in `logs`; not asked where stamps of one file tell all
 */
export function placeLogs(job: Job, logs: readonly PreparedLog[], alone: (i: number) => Judgement): Placed[] {
  if (logs.every((log) => log.recording.file === logs[0]!.recording.file)) return ofOneFile(logs);
  const trains = logs.map((log, i) => ({
    edges: edgeTrain(log, alone(i), isPulsed(job)),
    seconds: lastSecond(log),
    intervalSeconds: log.samples.intervalSeconds,
  }));
  const placed: (Placed | undefined)[] = new Array(logs.length).fill(undefined);
  const worth = (i: number) => trains[i]!.edges.length * edgesTrusted[logs[i]!.movement.sight];
  const order = logs.map((_, i) => i).sort((a, b) => worth(b) - worth(a));
  let group = 0;
  for (const hub of order) {
    if (placed[hub] !== undefined) continue;
    placed[hub] = { group, clocked: onOwnClock(logs[hub]!), reason: null };
    for (let grown = true; grown; ) {
      grown = false;
      for (const i of order) {
        if (placed[i] !== undefined) continue;
        const found = placeBeside(i, logs, trains, placed, group);
        if (found === null) continue;
        placed[i] = found;
        grown = true;
      }
    }
    group++;
  }
  const first = placed[0]?.group;
  return placed.map((each, i) => (each!.group === first ? each! : { ...each!, reason: whyNot(logs, trains, i) }));
}

/** Columns of one file need no edges to be laid over each other. */
function ofOneFile(logs: readonly PreparedLog[]): Placed[] {
  const first: Placed = { group: 0, clocked: onOwnClock(logs[0]!), reason: null };
  return logs.map((log, i) => (i === 0 ? first : besideTwin(log, first)));
}

/** Other loads and the charging add edges to these. */
const edgesTrusted = { current: 1, drop: 1, load: 0.8, battery: 0.3 } as const;

/** Tries to place a log beside the logs of a group: one of the same file first, then by the edges that the group shows. */
function placeBeside(
  i: number,
  logs: readonly PreparedLog[],
  trains: readonly EdgeTrain[],
  placed: readonly (Placed | undefined)[],
  group: number,
): Placed | null {
  const members = logs.map((_, m) => m).filter((m) => placed[m]?.group === group);
  const twin = members.find((m) => logs[m]!.recording.file === logs[i]!.recording.file);
  if (twin !== undefined) return besideTwin(logs[i]!, placed[twin]!);
  if ([i, ...members].some((m) => logs[m]!.recording.concurrent === false)) return null;
  const reference = mergeTrains(members.map((m) => onGroupClock(trains[m]!, placed[m]!.clocked)));
  const expected = expectedStart(logs, placed, members, i) - reference.begin;
  const byEdges = matchClocks(reference.train, trains[i]!, expected, trustStamps);
  const match =
    byEdges !== null && byEdges.margin >= certainMargin
      ? byEdges
      : likelier(byEdges, matchFaint(reference.train, logs[i]!, trains[i]!, expected, trustStamps));
  if (match === null) return null;
  const clocked = {
    log: logs[i]!,
    startSeconds: reference.begin + match.startSeconds,
    rate: match.rate,
    uncertaintySeconds: match.startUncertainty,
  };
  return { group, clocked, reason: null };
}

/** Few edges may fit by chance where they do not belong: all of the log's level is asked as well, and the clearer answer counts. */
function likelier(byEdges: ClockMatch | null, byLevel: ClockMatch | null): ClockMatch | null {
  const clear = byEdges !== null && byEdges.margin >= clearMargin ? byEdges : null;
  if (clear === null || byLevel === null) return clear ?? byLevel;
  const doubt = Math.hypot(clear.startUncertainty, byLevel.startUncertainty);
  const agree = Math.abs(clear.startSeconds - byLevel.startSeconds) < 3 * doubt;
  return agree || clear.margin > byLevel.margin ? clear : byLevel;
}

/** Where the stamps would place a log's first sample on the group's clock: beside the first member that is dated as it is. */
function expectedStart(
  logs: readonly PreparedLog[],
  placed: readonly (Placed | undefined)[],
  members: readonly number[],
  i: number,
): Seconds {
  const own = logs[i]!.samples.startEpochSeconds;
  const dated = members.find((m) => own !== null && logs[m]!.samples.startEpochSeconds !== null);
  if (dated === undefined) return placed[members[0]!]!.clocked.startSeconds;
  return placed[dated]!.clocked.startSeconds + own! - logs[dated]!.samples.startEpochSeconds!;
}

const onOwnClock = (log: PreparedLog): ClockedLog => ({ log, startSeconds: 0, rate: 1, uncertaintySeconds: 0 });

/** Two columns of one file share their clock; one may begin later, where the other has its first number. */
function besideTwin(log: PreparedLog, twin: Placed): Placed {
  const other = twin.clocked.log;
  const later = log.samples.startClockSeconds - other.samples.startClockSeconds;
  const { startSeconds, rate, uncertaintySeconds } = twin.clocked;
  return {
    group: twin.group,
    reason: twin.reason,
    clocked: {
      log,
      startSeconds: startSeconds + later * rate,
      rate,
      uncertaintySeconds: Math.max(uncertaintySeconds, sameFileUncertainty),
    },
  };
}

function whyNot(logs: readonly PreparedLog[], trains: readonly EdgeTrain[], i: number): string {
  const apart = "it is joined with the others by state, not by time";
  if (logs[i]!.recording.concurrent === false)
    return `declared as not taken at the same time as the first log: ${apart}`;
  if (logs[0]!.recording.concurrent === false)
    return `the first log is declared as not taken at the same time: ${apart}`;
  if (trains[i]!.edges.length === 0) return `no step in it that could be matched with another log: ${apart}`;
  if (trains[0]!.edges.length === 0) return `no step in the first log that could be matched with it: ${apart}`;
  return `its steps fit those of the first log at more than one offset, or at none: ${apart}`;
}
