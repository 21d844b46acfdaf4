/**
 * How well states, events and clocks are found on seeded rounds with a known truth.
 * Run: npx tsx tests/bench/states.ts [rounds] [first seed] [verbose]
 */
import type { Job, Recording } from "../../analysis/job/job.ts";
import type { EventKind, RecordingStates } from "../../analysis/state/plateau.ts";
import { findStates } from "../../analysis/state/states.ts";
import { type InventedLog, type InventedRound, inventRound, type Wish } from "../fixtures/invented-round.ts";

const rounds = Number(process.argv[2] ?? 60);
const firstSeed = Number(process.argv[3] ?? 1);
const verbose = process.argv[4] === "verbose";

interface Tally {
  time: number;
  right: number;
  wrong: number;
  radioWrong: number;
  radioNull: number;
  engineWrong: number;
  engineNull: number;
  worst: { seed: number; file: string; wrong: number }[];
  events: Map<EventKind, { found: number; true: number; hits: number }>;
  logs: number;
  aligned: number;
  within: number;
  held: number;
  errors: number[];
  driftErrors: number[];
}

const fresh = (): Tally => ({
  time: 0,
  right: 0,
  wrong: 0,
  radioWrong: 0,
  radioNull: 0,
  engineWrong: 0,
  engineNull: 0,
  worst: [],
  events: new Map(),
  logs: 0,
  aligned: 0,
  within: 0,
  held: 0,
  errors: [],
  driftErrors: [],
});

function scoreStates(tally: Tally, log: InventedLog, states: RecordingStates, seed: number): void {
  const last = log.seconds[log.seconds.length - 1]!;
  const step = 0.1;
  let wrongHere = 0;
  for (let own = step / 2; own < last; own += step) {
    const t = log.trueSeconds(own);
    const near = 1.1 * log.intervalSeconds + log.stampSeconds;
    const truth = log.truth.find((state) => t >= state.start && t < state.end);
    if (truth === undefined || truth.engine === "crank") continue;
    if (t - truth.start < near || truth.end - t < near) continue;
    const plateau = states.plateaus.find((each) => own >= each.startSeconds && own < each.endSeconds);
    const radio = plateau?.radio ?? null;
    const engine = plateau?.engine ?? null;
    const wrong = (radio !== null && radio !== truth.radio) || (engine !== null && engine !== truth.engine);
    tally.time += step;
    if (radio !== null && radio !== truth.radio) tally.radioWrong += step;
    if (engine !== null && engine !== truth.engine) tally.engineWrong += step;
    if (radio === null) tally.radioNull += step;
    if (engine === null) tally.engineNull += step;
    if (wrong) tally.wrong += step;
    else if (radio !== null && engine !== null) tally.right += step;
    if (wrong) wrongHere += step;
  }
  if (wrongHere > 0) tally.worst.push({ seed, file: `${log.recording.file} ${placeOf(log)}`, wrong: wrongHere });
}

const placeOf = (log: InventedLog): string =>
  `${log.recording.through ?? `${log.recording.from}→${log.recording.to}`} @${log.intervalSeconds}`;

function trueEvents(log: InventedLog): { kind: EventKind; seconds: number }[] {
  const events: { kind: EventKind; seconds: number }[] = [];
  log.truth.forEach((state, k) => {
    const before = log.truth[k - 1];
    if (before === undefined) return;
    const seconds = log.ownSeconds(state.start);
    const add = (kind: EventKind) => events.push({ kind, seconds });
    if (before.radio === "idle" && state.radio === "transmit") add("keyed");
    if (before.radio === "transmit" && state.radio === "idle") add("released");
    if (before.engine !== "running" && state.engine === "running") add("engine-start");
    if (state.disturbed !== null && before.disturbed !== state.disturbed) add(state.disturbed);
  });
  const last = log.seconds[log.seconds.length - 1]!;
  return events.filter((event) => event.seconds > 0 && event.seconds < last);
}

function scoreEvents(tally: Tally, log: InventedLog, states: RecordingStates, seed: number): void {
  const truth = trueEvents(log);
  const used = new Set<number>();
  const sums = (kind: EventKind) => {
    if (!tally.events.has(kind)) tally.events.set(kind, { found: 0, true: 0, hits: 0 });
    return tally.events.get(kind)!;
  };
  const allowed = log.intervalSeconds * 1.05 + log.stampSeconds;
  for (const event of truth) sums(event.kind).true++;
  for (const event of states.events) {
    const sum = sums(event.kind);
    sum.found++;
    const i = truth.findIndex(
      (each, j) => !used.has(j) && each.kind === event.kind && Math.abs(each.seconds - event.seconds) <= allowed,
    );
    if (i >= 0) {
      used.add(i);
      sum.hits++;
    } else if (verbose)
      console.log(`  seed ${seed} ${placeOf(log)}: invented ${event.kind} at ${event.seconds.toFixed(2)}`);
  }
  if (verbose)
    truth.forEach((event, i) => {
      if (!used.has(i))
        console.log(`  seed ${seed} ${placeOf(log)}: missed ${event.kind} at ${event.seconds.toFixed(2)}`);
    });
}

function scoreClock(tally: Tally, first: InventedLog, log: InventedLog, states: RecordingStates, seed: number): void {
  tally.logs++;
  if (states.offsetSeconds === null) {
    if (verbose) console.log(`  seed ${seed} ${placeOf(log)}: not aligned: ${states.warnings[0]}`);
    return;
  }
  tally.aligned++;
  const firstShows = first.ownSeconds(log.trueSeconds(0));
  const dated = first.startEpochSeconds !== null && log.startEpochSeconds !== null;
  const truth = dated ? log.startEpochSeconds! - first.startEpochSeconds! - firstShows : -firstShows;
  const error = states.offsetSeconds - truth;
  const interval = Math.max(first.intervalSeconds, log.intervalSeconds);
  tally.errors.push(Math.abs(error) / interval);
  if (Math.abs(error) <= interval) tally.within++;
  if (Math.abs(error) <= 2 * states.offsetUncertaintySeconds!) tally.held++;
  else if (verbose)
    console.log(
      `  seed ${seed} ${placeOf(log)}: offset off by ${error.toFixed(3)} ± ${states.offsetUncertaintySeconds!.toFixed(3)}`,
    );
  const ppm = ((1 + log.ppm * 1e-6) / (1 + first.ppm * 1e-6) - 1) * 1e6;
  tally.driftErrors.push(Math.abs(states.driftPpm! - ppm));
}

function run(title: string, wish: Wish): void {
  const tally = fresh();
  const began = performance.now();
  for (let seed = firstSeed; seed < firstSeed + rounds; seed++) {
    const round = inventRound(seed, wish);
    const states = findStates(round.job as unknown as Job, logsOf(round));
    round.logs.forEach((log, i) => {
      scoreStates(tally, log, states[i]!, seed);
      scoreEvents(tally, log, states[i]!, seed);
      if (i > 0) scoreClock(tally, round.logs[0]!, log, states[i]!, seed);
    });
  }
  print(title, tally, performance.now() - began);
}

function logsOf(round: InventedRound) {
  return round.logs.map((log) => ({
    recording: log.recording as unknown as Recording,
    samples: { ...log, gapSeconds: new Float64Array(0), startClockSeconds: 0, column: 1 },
  }));
}

const percent = (part: number, whole: number): string => (whole > 0 ? `${((100 * part) / whole).toFixed(2)} %` : "–");
const middle = (values: number[]): string =>
  values.length > 0 ? [...values].sort((a, b) => a - b)[values.length >> 1]!.toFixed(3) : "–";

function print(title: string, t: Tally, milliseconds: number): void {
  console.log(
    `${title}: right ${percent(t.right, t.time)}, wrong ${percent(t.wrong, t.time)} ` +
      `(radio wrong ${percent(t.radioWrong, t.time)} null ${percent(t.radioNull, t.time)}; engine wrong ${percent(t.engineWrong, t.time)} null ${percent(t.engineNull, t.time)}) ` +
      `${(milliseconds / rounds).toFixed(0)} ms a round`,
  );
  const worst = t.worst.sort((a, b) => b.wrong - a.wrong).slice(0, 8);
  for (const each of worst) console.log(`    wrong ${each.wrong.toFixed(1)} s: seed ${each.seed} ${each.file}`);
  for (const [kind, e] of t.events)
    console.log(
      `    ${kind}: precision ${percent(e.hits, e.found)} of ${e.found}, recall ${percent(e.hits, e.true)} of ${e.true}`,
    );
  if (t.logs > 0)
    console.log(
      `    aligned ${percent(t.aligned, t.logs)} of ${t.logs}, within one interval ${percent(t.within, t.aligned)}, ` +
        `truth within two uncertainties ${percent(t.held, t.aligned)}, median error ${middle(t.errors)} intervals, median drift error ${middle(t.driftErrors)} ppm`,
    );
}

run("sets of logs", {});
run("battery and load", { logs: "battery+load" });
run("battery alone", { logs: "battery" });
run("load alone", { logs: "load" });
run("drop alone", { logs: "drop" });
run("clamp alone", { logs: "clamp" });
