/**
 * Whether a finished install may be handed over: which readings a full verification needs, which are taken, and
 * whether what was read, the worst case and the protection checks allow it.
 */
import type { ProtectionCheck, Q, ReadingNeeded, RoundDiagnosis, Verdict } from "../diagnosis.ts";
import type { EngineState, Job, RadioState, Recording } from "../job/job.ts";
import { isPoint, pointsOf } from "../job/route.ts";
import { dropLimitVolts } from "../loop/expected-drop.ts";
import type { Reading } from "../reading/reading.ts";
import type { LogEvent, RecordingStates } from "../state/plateau.ts";
import type { Seconds } from "../units.ts";

/** Heat shows joints that five seconds pass; one minute keyed is the intermittent test of land-mobile practice, from memory. */
export const longTransmissionSeconds: Seconds = 60;

export interface RoundEvidence extends LiveTests {
  /** as it stands in the round */
  readonly job: Job;
  /** of this round alone */
  readonly readings: readonly Reading[];
  readonly verdict: Verdict;
  /** both legs together at the declared transmit current, engine off, as measured; null where it was not */
  readonly transmitDropVolts: Q;
  readonly worstCaseMarginVolts: Q;
  readonly protection: readonly ProtectionCheck[];
}

/** The two tests that no single reading is. */
export interface LiveTests {
  /** longest time keyed without a break; null: not known */
  readonly longestTransmitSeconds: Seconds | null;
  /** whether the set stayed on through an engine start; null: not tried as far as is known */
  readonly startedWithSetOn: boolean | null;
}

export interface Verification {
  readonly verification: RoundDiagnosis["verification"];
  /** what keeps the install from passing, or is still to be done, in the technician's words; empty when it passed */
  readonly remarks: readonly string[];
}

/**
 * `passed` is true when every reading is taken and nothing is against it, false when something is surely against it,
 * null while something is missing or too uncertain to tell.
 */
export function verifyInstall(evidence: RoundEvidence): Verification {
  const needed = readingsNeeded(evidence.job);
  const isTaken = (reading: ReadingNeeded) => readingTaken(evidence.job, evidence.readings, reading);
  const readingsMissing = needed.filter((reading) => !isTaken(reading));
  const answers = [
    ...measuredAnswers(evidence),
    ...protectionAnswers(evidence.protection),
    ...stillToDo(evidence, readingsMissing.length),
  ];
  const open = answers.filter(({ pass }) => pass !== true);
  return {
    verification: {
      readingsTaken: needed.filter(isTaken),
      readingsMissing,
      passed: open.some(({ pass }) => pass === false) ? false : open.length > 0 ? null : true,
    },
    remarks: open.map(({ words }) => words),
  };
}

/**
 * Battery and load volts idle and at transmit, engine off and running, and both legs' drops at transmit. A stretch that
 * ends at a point out of reach is not asked for.
 */
export function readingsNeeded(job: Job): ReadingNeeded[] {
  const engines: EngineState[] = ["off", "running"];
  const radios = ["idle", "transmit"] as const;
  const ends = [
    { from: "battery+", to: "battery-" },
    { from: "load+", to: "load-" },
  ];
  const volts = engines.flatMap((engine) => radios.flatMap((radio) => ends.map((end) => ({ ...end, engine, radio }))));
  const drops = [
    { from: "battery+", to: "load+" },
    { from: "load-", to: "battery-" },
  ].map((leg) => ({ ...leg, engine: "off" as const, radio: "transmit" as const }));
  const outOfReach = new Set(job.loop.filter(isPoint).flatMap((item) => (item.reach === "no" ? [item.point] : [])));
  return [...volts, ...drops].filter(({ from, to }) => !outOfReach.has(from) && !outOfReach.has(to));
}

/** Taken directly, or pieced together from readings within the stretch in the same state (battery + to fuse, fuse to load +). */
function readingTaken(job: Job, readings: readonly Reading[], needed: ReadingNeeded): boolean {
  const points = pointsOf(job);
  const [start, end] = [points.indexOf(needed.from), points.indexOf(needed.to)];
  const within = new Set(points.slice(Math.min(start, end), Math.max(start, end) + 1));
  const spans = readings.flatMap((reading) =>
    reading.place.quantity === "volts" && isLevel(reading) && inState(reading, needed.engine, needed.radio)
      ? [reading.place]
      : [],
  );
  const reached = new Set([needed.from]);
  for (let grown = true; grown; ) {
    grown = false;
    for (const { from, to } of spans) {
      if (!within.has(from) || !within.has(to) || reached.has(from) === reached.has(to)) continue;
      reached.add(from).add(to);
      grown = true;
    }
  }
  return reached.has(needed.to);
}

const inState = (reading: Reading, engine: EngineState, radio: RadioState): boolean =>
  reading.engine === engine && reading.radio === radio;

/** A settled level of the set itself, nothing bypassed: what a verification may rest on. */
const isLevel = ({ held, drawnBy, bypassed, disturbed }: Reading): boolean =>
  held === null && drawnBy === "set" && bypassed.length === 0 && !disturbed;

/** One recording of the round with what was found in it. */
export interface RecordedStates {
  readonly recording: Recording;
  readonly states: RecordingStates;
}

/**
 * Both live tests from a round's logs, its typed readings' `keyedSeconds` and its checklist
 * (`long-transmission`, `start-with-set-on`).
 */
export function liveTests(job: Job, round: string, recorded: readonly RecordedStates[]): LiveTests {
  const checks = job.rounds.find((described) => described.round === round)?.checks ?? {};
  const keyed = [
    ...recorded.flatMap(({ states }) => states.events.flatMap((event, i) => keyedSeconds(event, states.events[i + 1]))),
    ...[...job.readings, ...recorded.map(({ recording }) => recording)].flatMap((measured) =>
      measured.round === round && measured.keyedSeconds !== undefined ? [measured.keyedSeconds] : [],
    ),
    ...(checks["long-transmission"] ? [longTransmissionSeconds] : []),
  ];
  return {
    longestTransmitSeconds: keyed.length > 0 ? Math.max(...keyed) : null,
    startedWithSetOn: checks["start-with-set-on"] ?? startSeen(job, recorded),
  };
}

/** From keyed to whatever ends it: release, reset or break. */
const keyedSeconds = (event: LogEvent, next: LogEvent | undefined): Seconds[] =>
  event.kind === "keyed" && next !== undefined ? [next.seconds - event.seconds] : [];

/** A start caught at the load's terminals, held against the load's minimum where that is declared. */
function startSeen(job: Job, recorded: readonly RecordedStates[]): boolean | null {
  const lowest = recorded
    .filter(({ recording }) => recording.from === "load+" && recording.to === "load-")
    .flatMap(({ states }) =>
      states.events.flatMap(({ kind, lowestVolts }) => (kind === "engine-start" ? [lowestVolts] : [])),
    );
  if (lowest.length === 0) return null;
  const minimum = job.load.minimumVolts;
  if (minimum === undefined || lowest.some((volts) => volts === undefined)) return null;
  return lowest.every((volts) => volts! >= minimum);
}

interface Answer {
  readonly pass: boolean | null;
  readonly words: string;
}

function measuredAnswers({ job, verdict, transmitDropVolts, worstCaseMarginVolts }: RoundEvidence): Answer[] {
  return [verdictAnswer(verdict), dropAnswer(job, transmitDropVolts), marginAnswer(job, worstCaseMarginVolts)];
}

const verdictWords: Readonly<Record<Verdict, string>> = {
  fault: "a fault is found: mend it first",
  marginal: "it works with little to spare",
  sound: "the feed is good",
  undecided: "there are not enough readings yet for a result",
};

const verdictAnswer = (verdict: Verdict): Answer => ({
  pass: verdict === "sound" ? true : verdict === "fault" ? false : null,
  words: verdictWords[verdict],
});

function dropAnswer(job: Job, drop: Q): Answer {
  if (drop === null) return { pass: null, words: "the drop of both sides keyed is not measured" };
  const limit = dropLimitVolts(job);
  const declared = job.load.transmitAmps;
  const current = declared === undefined ? "" : ` at the declared ${declared} A`;
  const doubt = atMost(drop, limit) === null ? ", too near to tell" : "";
  return {
    pass: atMost(drop, limit),
    words: `${drop.value.toFixed(2)} V lost keyed${current}; at most ${limit.toFixed(2)} V${doubt}`,
  };
}

function marginAnswer(job: Job, margin: Q): Answer {
  if (margin === null) {
    return { pass: noMinimum(job), words: "the worst case cannot be told from these readings" };
  }
  const side = margin.value < 0 ? "under" : "above";
  return {
    pass: atMost({ ...margin, low: -margin.high, high: -margin.low }, 0),
    words: `in the worst case the set has ${Math.abs(margin.value).toFixed(2)} V ± ${((margin.high - margin.low) / 2).toFixed(2)} V ${side} its minimum`,
  };
}

/** A load without a declared minimum has no margin to keep. */
const noMinimum = (job: Job): boolean | null => (job.load.minimumVolts === undefined ? true : null);

/** Kept or broken when the whole 95 % interval is on one side. */
function atMost(value: Q, limit: number): boolean | null {
  if (value === null) return null;
  if (value.high <= limit) return true;
  return value.low > limit ? false : null;
}

/** Checks that must be answered yes before a hand-over; any other may be open, and none may be broken. */
const mustPass = ["fuse in the feed", "fuse against continuous load current", "fuse against the wire's ampacity"];

function protectionAnswers(checks: readonly ProtectionCheck[]): Answer[] {
  return checks
    .filter(({ check, pass }) => pass === false || mustPass.includes(check))
    .map(({ part, check, pass, detail }) => ({ pass, words: `${part === "" ? "" : `${part}: `}${check}: ${detail}` }));
}

function stillToDo({ longestTransmitSeconds, startedWithSetOn }: RoundEvidence, missing: number): Answer[] {
  const long = longestTransmitSeconds !== null && longestTransmitSeconds >= longTransmissionSeconds;
  return [
    {
      pass: missing === 0 ? true : null,
      words: missing === 1 ? "a reading is missing" : `${missing} readings are missing`,
    },
    {
      pass: long ? true : null,
      words: `one long transmission (${longTransmissionSeconds} s) is missing: heat shows joints that five seconds pass`,
    },
    {
      pass: startedWithSetOn,
      words:
        startedWithSetOn === false
          ? "the set did not stay on through an engine start"
          : "a start of the engine with the set on is missing",
    },
  ];
}
