/**
 * `npm run bench:comparison -- [COUNT] [--from SEED] [--outcome repaired] [--misses]`: draws before/after jobs from the recipe, a third each
 * repaired, left as they were, and repaired with a new trouble, and prints how well the comparison told which.
 */
import { spawnSync } from "node:child_process";
import { parseArgs } from "node:util";
import { type Comparison, type Diagnosis, diagnoseFiles, type RoundDiagnosis } from "../../analysis/index.ts";
import type { DrawnJob, DrawOptions } from "../fixtures/recipe/draw-job.ts";
import type { TrueRound, TrueState, Truth } from "../fixtures/recipe/truth.ts";
import { drawnJob, filesAsBytes } from "./accuracy/drawn-jobs.ts";
import { calibrationBins, expectedCalibrationError, type Forecast, mean, quantile } from "./accuracy/scores.ts";

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    from: { type: "string", default: "1" },
    outcome: { type: "string" },
    misses: { type: "boolean", default: false },
    draw: { type: "string" },
  },
});
const count = Number(positionals[0] ?? 200);
const first = Number(values.from);

/** What is called a change of the part, and what is called none; between the two nothing is judged. */
const changedBy = 0.1;
const unchangedWithin = 0.03;
const rootMeanSquare = (numbers: readonly number[]): number => Math.sqrt(mean(numbers.map((one) => one * one)));

/** A change that is said to be real, and one that should be seen (issue 9). */
const saidReal = 0.9;
const shouldBeSeenVolts = 0.1;

const outcomes = ["repaired", "unchanged", "new-trouble"] as const satisfies DrawOptions["after"][];
type Outcome = (typeof outcomes)[number];

interface Judged {
  readonly held: { readonly outcome: Outcome; readonly given: boolean | null; readonly truth: boolean | null }[];
  /** changes above 0.1 V at transmit at parts that the readings single out, and the whole groups of those they do not */
  readonly seen: { readonly alone: boolean; readonly probability: number }[];
  readonly nothingChanged: number[];
  readonly real: Forecast[];
  readonly gained: boolean[];
  readonly gainedWidths: number[];
  readonly ohms: boolean[];
  readonly forecasts: boolean[];
  /** how far off, in the forecast's own standard uncertainties */
  readonly forecastMisses: number[];
  readonly misses: string[];
}

const judged: Judged = {
  held: [],
  seen: [],
  nothingChanged: [],
  real: [],
  gained: [],
  gainedWidths: [],
  ohms: [],
  forecasts: [],
  forecastMisses: [],
  misses: [],
};
let milliseconds = 0;

const outcomeOf = (seed: number): Outcome =>
  (values.outcome as Outcome | undefined) ?? outcomes[seed % outcomes.length]!;

/** Some seeds ask for what no installation has room for. */
async function drawnOrNull(seed: number, after: Outcome): Promise<DrawnJob | null> {
  try {
    return await drawnJob(seed, { after });
  } catch {
    return null;
  }
}

function judgeJob(job: DrawnJob, outcome: Outcome, { comparison, rounds }: Diagnosis): void {
  const { truth } = job;
  const name = `${job.seed} ${truth.evidence} ${outcome} (${causesOf(truth.rounds[0]!)} → ${causesOf(truth.rounds[1]!)})`;
  if (comparison === null) {
    judged.misses.push(`${name}: no comparison`);
    return;
  }
  judgeHeld(name, outcome, truth, comparison, rounds);
  judgeParts(name, truth, comparison);
  judgeVolts(name, outcome, truth, comparison, rounds);
}

const causesOf = ({ faults }: TrueRound) => faults.map(({ cause, parts }) => [cause, ...parts].join(" ")).join(" + ");

/** A run that is too light as declared is not mended by touching joints; where nothing was wrong nothing was mended. */
function heldTruth({ rounds: [before] }: Truth, outcome: Outcome): boolean | null {
  const causes = before!.faults.map(({ cause }) => cause);
  if (causes.every((cause) => cause === "supply-sound")) return null;
  return outcome === "repaired" && !causes.includes("undersized-run");
}

function judgeHeld(
  name: string,
  outcome: Outcome,
  truth: Truth,
  { repairHeld }: Comparison,
  rounds: readonly RoundDiagnosis[],
): void {
  const held = heldTruth(truth, outcome);
  judged.held.push({ outcome, given: repairHeld, truth: held });
  if (repairHeld === held) return;
  const found = rounds.map(
    ({ verdict, findings: [one] }) =>
      `${verdict} ${one?.cause} [${one?.parts.join(" ")}] ${one?.probability.toFixed(2)}`,
  );
  judged.misses.push(`${name}: held ${repairHeld}, truly ${held}; found ${found.join(" → ")}`);
}

const keyed = ({ states }: TrueRound, engine: string) =>
  states.find((state) => state.engine === engine && state.radio === "transmit");
const keyedOff = (round: TrueRound) => keyed(round, "off");

/** Volts gained are those of a state that both rounds have read, engine off where there is a choice. */
const engineRead = (rounds: readonly RoundDiagnosis[]): string | undefined =>
  ["off", "running"].find((engine) =>
    rounds.every(({ states }) =>
      states.some((one) => one.engine === engine && one.radio === "transmit" && one.loadVolts !== null),
    ),
  );

function judgeParts(name: string, truth: Truth, { parts }: Comparison): void {
  const [before, after] = truth.rounds;
  for (const { id, changeIsReal, ohmsBefore, ohmsAfter } of parts) {
    const [was, is] = [before!.partOhms[id]!, after!.partOhms[id]!];
    const change = Math.abs(is / was - 1);
    for (const [stated, truth] of [
      [ohmsBefore, was],
      [ohmsAfter, is],
    ] as const) {
      if (stated !== null) judged.ohms.push(stated.low <= truth && truth <= stated.high);
    }
    if (change > changedBy || change < unchangedWithin)
      judged.real.push({ probability: changeIsReal, right: change > changedBy });
    if (change < unchangedWithin) {
      judged.nothingChanged.push(changeIsReal);
      if (changeIsReal > saidReal)
        judged.misses.push(`${name}: ${id} said to have changed (${changeIsReal.toFixed(3)})`);
    }
  }
  judgeSeen(name, truth, parts);
}

/** Parts that the readings cannot tell apart are judged together: by their net change, and by the sum of what each is given. */
function judgeSeen(name: string, { rounds: [before, after] }: Truth, parts: Comparison["parts"]): void {
  const amps = keyedOff(after!)?.amps ?? keyedOff(before!)?.amps ?? 0;
  const groups = [...before!.faults, ...after!.faults].map(({ group }) => group).filter(({ length }) => length > 1);
  const contacts = (id: string) => groups.find((group) => group.includes(id)) ?? [id];
  const judgedGroups = new Map(parts.map(({ id }) => [contacts(id).join(" or "), contacts(id)]));
  for (const [words, group] of judgedGroups) {
    const changeVolts = amps * sum(group.map((id) => after!.partOhms[id]! - before!.partOhms[id]!));
    if (Math.abs(changeVolts) <= shouldBeSeenVolts) continue;
    const given = parts.filter(({ id }) => group.includes(id)).map(({ changeIsReal }) => changeIsReal);
    const probability = Math.min(1, sum(given));
    judged.seen.push({ alone: group.length === 1, probability });
    if (probability <= saidReal)
      judged.misses.push(`${name}: ${words} changed by ${changeVolts.toFixed(3)} V, given ${probability.toFixed(2)}`);
  }
}

const sum = (numbers: readonly number[]): number => numbers.reduce((total, one) => total + one, 0);

function judgeVolts(
  name: string,
  outcome: Outcome,
  { rounds: [before, after] }: Truth,
  { loadVoltsGained }: Comparison,
  rounds: readonly RoundDiagnosis[],
): void {
  judgeGained(name, [before!, after!], loadVoltsGained, engineRead(rounds));
  const [was, is] = [before!, after!].map(keyedOff);
  if (outcome === "repaired" && was && is) judgeForecast(name, before!, was, is, rounds[0]!);
}

function judgeGained(
  name: string,
  truth: readonly TrueRound[],
  loadVoltsGained: Comparison["loadVoltsGained"],
  engine: string | undefined,
): void {
  if (engine === undefined) return;
  const [was, is] = truth.map((round) => keyed(round, engine));
  if (loadVoltsGained !== null && was && is) {
    const gained = is.loadVolts - was.loadVolts;
    const holds = loadVoltsGained.low <= gained && gained <= loadVoltsGained.high;
    judged.gained.push(holds);
    judged.gainedWidths.push(loadVoltsGained.high - loadVoltsGained.low);
    if (!holds)
      judged.misses.push(
        `${name}: gained ${gained.toFixed(3)} V, said ${loadVoltsGained.low.toFixed(3)} to ${loadVoltsGained.high.toFixed(3)}`,
      );
  }
}

/** A forecast is of mending what was found: judged where that is what was wrong, and all that was. */
function judgeForecast(name: string, before: TrueRound, was: TrueState, is: TrueState, round: RoundDiagnosis): void {
  const [finding] = round.findings;
  const forecast = finding?.afterRepair.loadVolts ?? null;
  const [fault, second] = before.faults;
  if (forecast === null || finding!.cause !== fault!.cause || second !== undefined) return;
  if (fault!.cause === "undersized-run") return;
  // It holds "at this round's battery": what the battery moved on by is taken out, unless the battery is what was mended.
  const renewed = fault!.cause === "weak-battery" || fault!.cause === "low-charge";
  const behind = ({ batteryVolts, amps }: TrueState) => batteryVolts + before.source.ohms * amps;
  const volts = is.loadVolts - (renewed ? 0 : behind(is) - behind(was));
  const holds = forecast.low <= volts && volts <= forecast.high;
  judged.forecasts.push(holds);
  judged.forecastMisses.push((volts - forecast.value) / forecast.uncertainty);
  if (holds) return;
  judged.misses.push(
    `${name}: forecast ${forecast.low.toFixed(3)} to ${forecast.high.toFixed(3)} V, was ${volts.toFixed(3)}`,
  );
}

function printFigures(): void {
  const share = (flags: readonly boolean[]) => `${(100 * mean(flags.map(Number))).toFixed(1)} % of ${flags.length}`;
  const line = (label: string, value: string) => console.log(`${label.padEnd(58)}${value}`);
  console.log(`comparison: ${count} before/after jobs from seed ${first}; ${undrawn} seeds could not be drawn`);
  const known = judged.held.filter(({ truth }) => truth !== null);
  line("repairHeld right (wanted: at least 97 %)", share(known.map(({ given, truth }) => given === truth)));
  for (const outcome of outcomes) {
    const own = known.filter((one) => one.outcome === outcome);
    const given = (wanted: boolean | null) => own.filter((one) => one.given === wanted).length;
    line(`  ${outcome}`, `held ${given(true)}, not ${given(false)}, cannot tell ${given(null)}`);
  }
  const none = judged.held.filter(({ truth }) => truth === null);
  line("  nothing was wrong, so nothing to mend: said to be null", share(none.map(({ given }) => given === null)));
  const isSeen = ({ probability }: { probability: number }) => probability > saidReal;
  line("changes above 0.1 V seen (wanted: at least 97 %)", share(judged.seen.map(isSeen)));
  line("  where the readings single the part out", share(judged.seen.filter(({ alone }) => alone).map(isSeen)));
  line("  as one of a group, its probabilities added", share(judged.seen.filter(({ alone }) => !alone).map(isSeen)));
  line("changes reported where nothing changed (at most 2 %)", share(judged.nothingChanged.map((p) => p > saidReal)));
  line("forecast's 95 % holds the after-volts (93 to 97 %)", share(judged.forecasts));
  line("  root mean square of its misses, in its uncertainties", rootMeanSquare(judged.forecastMisses).toFixed(2));
  line("volts gained within their 95 %", share(judged.gained));
  line("  width of the interval, median", `${quantile(judged.gainedWidths, 0.5).toFixed(3)} V`);
  line("ohms before and after within their 95 %", share(judged.ohms));
  line("calibration error of changeIsReal", expectedCalibrationError(judged.real).toFixed(4));
  for (const bin of calibrationBins(judged.real))
    line(
      `  ${bin.low.toFixed(1)} to ${bin.high.toFixed(1)}`,
      `said ${bin.meanProbability.toFixed(3)}, true ${bin.shareRight.toFixed(3)}, ${bin.count} parts`,
    );
  line("time for a job, mean", `${(milliseconds / count).toFixed(0)} ms`);
  if (!values.misses) return;
  console.log("\nmisses");
  for (const miss of judged.misses) console.log(`  ${miss}`);
}

/** The simulator's memory grows with every job it draws: they are drawn in lots, each by a process of its own, and kept. */
const lot = 40;
if (values.draw !== undefined) {
  for (let seed = first; seed < first + Number(values.draw); seed++) await drawnOrNull(seed, outcomeOf(seed));
  process.exit(0);
}
for (let seed = first; seed < first + count * 1.1; seed += lot) {
  const asked = values.outcome === undefined ? [] : ["--outcome", values.outcome];
  const words = ["--import", "tsx", import.meta.filename, "--from", String(seed), "--draw", String(lot), ...asked];
  spawnSync(process.execPath, words, { stdio: "inherit" });
}

let undrawn = 0;
let drawn = 0;
for (let seed = first; drawn < count; seed++) {
  const outcome = outcomeOf(seed);
  const job = await drawnOrNull(seed, outcome);
  if (job === null) {
    undrawn++;
    continue;
  }
  drawn++;
  const started = performance.now();
  const diagnosis = diagnoseFiles(job.folder, filesAsBytes(job));
  milliseconds += performance.now() - started;
  judgeJob(job, outcome, diagnosis);
  if (process.stderr.isTTY) process.stderr.write(`\r${drawn} of ${count}`);
}
if (process.stderr.isTTY) process.stderr.write("\r");
printFigures();
process.exit(0);
