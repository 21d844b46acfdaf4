/**
 * Rounds with their truth, from two recipes that know nothing of analysis/: the circuit-simulator's jobs read from their
 * log texts, and invented rounds by bare Ohm's law. All times are on each log's own clock, from its first sample.
 */
import { type Job, parseJob, type Recording } from "../../../analysis/job/job.ts";
import { readLog } from "../../../analysis/log/log-reader.ts";
import type { Samples } from "../../../analysis/log/sample.ts";
import type { EventKind } from "../../../analysis/state/plateau.ts";
import { type InventedLog, inventRound, type Wish } from "../../fixtures/invented-round.ts";
import { type DrawOptions, drawJob } from "../../fixtures/recipe/draw-job.ts";
import type { TrueRecording } from "../../fixtures/recipe/truth.ts";

export interface KnownStretch {
  readonly start: number;
  readonly end: number;
  /** null: being cranked, or nobody can say from what was logged */
  readonly engine: "off" | "running" | null;
  readonly radio: "idle" | "transmit";
}

export interface KnownEvent {
  readonly kind: EventKind;
  readonly seconds: number;
  /** a crank lasts: either end of it may be called the start */
  readonly endSeconds?: number;
}

export interface KnownLog {
  readonly recording: Recording;
  readonly samples: Samples;
  readonly stretches: readonly KnownStretch[];
  readonly events: readonly KnownEvent[];
  /** null: not taken together with the first */
  readonly offsetSeconds: number | null;
  readonly driftPpm: number;
}

export interface KnownRound {
  readonly name: string;
  readonly job: Job;
  readonly logs: readonly KnownLog[];
}

export function inventedRound(seed: number, wish: Wish = {}): KnownRound {
  const round = inventRound(seed, wish);
  const first = round.logs[0]!;
  return {
    name: `invented ${seed} ${round.trouble}`,
    job: round.job as unknown as Job,
    logs: round.logs.map((log) => ({
      recording: log.recording as unknown as Recording,
      samples: { ...log, gapSeconds: new Float64Array(0), startClockSeconds: 0, column: 1 },
      stretches: log.truth.map((state) => ({
        start: log.ownSeconds(state.start),
        end: log.ownSeconds(state.end),
        engine: state.engine === "crank" ? null : state.engine,
        radio: state.radio,
      })),
      events: inventedEvents(log),
      offsetSeconds: inventedOffset(first, log),
      driftPpm: ((1 + log.ppm * 1e-6) / (1 + first.ppm * 1e-6) - 1) * 1e6,
    })),
  };
}

function inventedEvents(log: InventedLog): KnownEvent[] {
  const events: KnownEvent[] = [];
  log.truth.forEach((state, k) => {
    const before = log.truth[k - 1];
    if (before === undefined) return;
    const seconds = log.ownSeconds(state.start);
    const add = (kind: EventKind) => events.push({ kind, seconds });
    if (before.radio === "idle" && state.radio === "transmit") add("keyed");
    if (before.radio === "transmit" && state.radio === "idle") add("released");
    if (state.engine === "crank") events.push({ kind: "engine-start", seconds, endSeconds: log.ownSeconds(state.end) });
    if (state.disturbed !== null && before.disturbed !== state.disturbed) add(state.disturbed);
  });
  return events.filter((event) => event.seconds > 0 && event.seconds < log.seconds[log.seconds.length - 1]!);
}

function inventedOffset(first: InventedLog, log: InventedLog): number {
  const firstShows = first.ownSeconds(log.trueSeconds(0));
  const dated = first.startEpochSeconds !== null && log.startEpochSeconds !== null;
  return dated ? log.startEpochSeconds! - first.startEpochSeconds! - firstShows : -firstShows;
}

/** All rounds of one job drawn from the circuit-simulator's recipe that have logs. */
export async function drawnRounds(seed: number, options: Partial<DrawOptions> = {}): Promise<KnownRound[]> {
  const drawn = await drawJob(seed, options);
  const { job } = parseJob(drawn.files.get("job.json")!);
  return drawn.truth.rounds.flatMap((round) => {
    const logs = job.recordings
      .filter((recording) => recording.round === round.round)
      .map((recording) => knownLog(recording, drawn.files.get(recording.file)!, round.recordings));
    const causes = round.faults.map((fault) => fault.cause).join("+");
    return logs.length > 0 ? [{ name: `drawn ${seed} ${drawn.truth.evidence} ${causes}`, job, logs }] : [];
  });
}

function knownLog(recording: Recording, text: string, truths: readonly TrueRecording[]): KnownLog {
  const { samples } = readLog(recording.file, new TextEncoder().encode(text), [recording])[0]!;
  const truth =
    truths.find((each) => each.file === recording.file && each.column === (recording.column ?? null)) ??
    truths.find((each) => each.file === recording.file)!;
  const cranks = truth.events.filter((event) => event.kind === "engine-start" && event.endSeconds !== undefined);
  return {
    recording,
    samples,
    stretches: truth.stretches.map((stretch) => ({
      start: stretch.startSeconds,
      end: stretch.endSeconds,
      engine: cranks.some((crank) => Math.abs(crank.seconds - stretch.startSeconds) < 1e-6) ? null : stretch.engine,
      radio: stretch.radio,
    })),
    events: truth.events,
    offsetSeconds: truth.concurrent ? truth.offsetSeconds : null,
    driftPpm: truth.driftPpm,
  };
}

/** Each log of a round as a round of its own: a technician with one meter. */
export const alone = (round: KnownRound): KnownRound[] =>
  round.logs.map((log) => ({ ...round, logs: [{ ...log, offsetSeconds: 0 }] }));
