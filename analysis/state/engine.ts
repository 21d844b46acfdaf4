/**
 * Whether a charging source was at work: crank dips, level, steps up and down and what was declared, all weighed.
 * Goes in: volts at the battery (or as near as was measured) in each stretch. Comes out: probability of running in each.
 */
import type { Job } from "../job/job.ts";
import type { Seconds, Volts } from "../units.ts";

export interface EngineCase {
  readonly starts: Float64Array;
  readonly ends: Float64Array;
  /** idle volts in each stretch, keying taken out; NaN where not known */
  readonly idleVolts: Float64Array;
  /** 1 where `idleVolts` is of the battery's own posts, less where wiring lies between */
  readonly atBattery: boolean;
  /** cranks found, as ranges of stretches, first … last */
  readonly cranks: readonly Crank[];
  /** 0 may be either, 1 off as declared, 2 running as declared */
  readonly declared: Uint8Array;
  readonly battery: Job["battery"]["type"];
  /** the source is a battery, so that its volts tell of charging */
  readonly voltsTell: boolean;
}

export interface Crank {
  readonly first: number;
  readonly last: number;
  readonly lowestVolts: Volts;
}

/** Charging takes up to so long to come up after a start: what runs so soon after a crank has run since its end; common practice. */
export const comingUpSeconds: Seconds = 12;

/** States of the chain: off, running and charging, running though nothing charges. */
const off = 0;
const charging = 1;
const notCharging = 2;
const stateCount = 3;
/** Prior of the state in which a log begins; judgement. */
const startLogs = [Math.log(0.6), Math.log(0.37), Math.log(0.03)];
/** What one stretch's level can say at most, natural-log units: neighbours' levels are not independent evidence. */
const mostEvidence = 5;
const littleEvidence = 0.15;
const settledSeconds: Seconds = 3;
/** What a whole log's level can say, in stretches: it does not say more for being cut into many. */
const wholeLogWeight = 10;
const clearRiseVolts: Volts = 0.35;
const clearFallVolts: Volts = 0.25;
/** A charging source that goes on seldom lets the battery fall so far, and hardly ever so far. */
const largeFallVolts: Volts = 0.5;
const deepFallVolts: Volts = 0.8;

/**
 * Probability that the engine runs, for each stretch: forward–backward over the chain of states.
 * During a crank it counts as off.
 */
export function runningProbability(given: EngineCase): Float64Array {
  const n = given.starts.length;
  const evidence = Array.from({ length: n }, (_, k) => levelEvidence(given, k));
  const moves = Array.from({ length: n }, (_, k) => (k === 0 ? [] : transitions(given, k)));
  const forward: number[][] = [];
  for (let k = 0; k < n; k++) {
    const last = forward[k - 1];
    const reach = (to: number) =>
      last === undefined ? startLogs[to]! : logSum(last.map((value, from) => value + moves[k]![from]![to]!));
    forward.push(evidence[k]!.map((value, to) => value + reach(to)));
  }
  const backward: number[][] = Array.from({ length: n }, () => new Array(stateCount).fill(0));
  for (let k = n - 2; k >= 0; k--) {
    for (let from = 0; from < stateCount; from++) {
      backward[k]![from] = logSum(
        backward[k + 1]!.map((value, to) => value + evidence[k + 1]![to]! + moves[k + 1]![from]![to]!),
      );
    }
  }
  return Float64Array.from({ length: n }, (_, k) => {
    const joint = forward[k]!.map((value, state) => value + backward[k]![state]!);
    return 1 - Math.exp(joint[off]! - logSum(joint));
  });
}

function logSum(values: readonly number[]): number {
  const most = Math.max(...values);
  return most === Number.NEGATIVE_INFINITY
    ? most
    : most + Math.log(values.reduce((sum, v) => sum + Math.exp(v - most), 0));
}

function levelEvidence(given: EngineCase, k: number): number[] {
  const declared = given.declared[k];
  const never = Number.NEGATIVE_INFINITY;
  const inCrank = given.cranks.some((crank) => k >= crank.first && k <= crank.last);
  if (declared === 1 || (inCrank && declared === 0)) return [0, never, never];
  const volts = given.idleVolts[k]!;
  // A level that stands for a moment only is on its way to another.
  const seconds = given.ends[k]! - given.starts[k]!;
  const total = given.ends[given.ends.length - 1]! - given.starts[0]!;
  const weight = Math.min(1, seconds / settledSeconds, (wholeLogWeight * seconds) / total);
  const level = given.voltsTell && !Number.isNaN(volts) ? levelLogs(volts, given).map((x) => x * weight) : [0, 0, 0];
  return declared === 2 ? [never, level[charging]!, level[notCharging]!] : level;
}

/** Density per volt of a normal distribution. */
const normal = (x: number, mean: number, sd: number): number =>
  Math.exp(-(((x - mean) / sd) ** 2) / 2) / (sd * 2.50663);
const between = (x: number, low: number, high: number): number => (x >= low && x <= high ? 1 / (high - low) : 0);

/**
 * What a level says of each state, natural logs, the best of them 0.
 * At rest 12–13 V, running 13–15 V: common practice; spreads are judgement. Levels no 12 V system has say nothing.
 */
function levelLogs(volts: Volts, given: EngineCase): number[] {
  if (volts < 8 || volts > 19) return [0, 0, 0];
  const lithium = given.battery === "lithium";
  const rest = lithium ? 0.9 * normal(volts, 13.25, 0.15) : 0.85 * normal(volts, 12.5, 0.35);
  const spread = given.atBattery ? 0.1 : 0.25;
  const atRest = rest + spread * between(volts, 8, lithium ? 13.5 : 13.1) + 0.002 * between(volts, 8, 19);
  const atCharge =
    0.8 * normal(volts, 14.2, 0.4) +
    0.2 * between(volts, lithium ? 13.3 : 12.9, 16.5) +
    (given.atBattery ? 0 : 0.08 * between(volts, 12, 14.5)) +
    0.002 * between(volts, 8, 19);
  const logs = [atRest, atCharge, atRest].map(Math.log);
  const most = Math.max(...logs);
  // A rested battery with surface charge and one that is charged poorly both stand here.
  const between13 = !lithium && volts > 12.95 && volts < 13.3;
  return logs.map((value) => Math.max(value - most, between13 ? -littleEvidence : -mostEvidence));
}

/** Log-probabilities of moving from state to state as stretch k begins. */
function transitions(given: EngineCase, k: number): number[][] {
  const stay = -0.01;
  const rare = -9;
  if (given.cranks.some((crank) => crank.last === k - 1)) {
    return [
      [-3.5, -0.4, -0.9],
      [rare, -0.5, -2],
      [rare, -0.5, -1],
    ];
  }
  const change = changeAt(given, k);
  const up = change > clearRiseVolts;
  const down = change < -clearFallVolts;
  return [
    [stay, up ? -1.5 : rare, 2 * rare],
    [down ? -1.2 : rare, change < -deepFallVolts ? -5 : change < -largeFallVolts ? -2.5 : stay, down ? -4 : rare],
    [up ? -5 : rare, up ? -2.5 : rare, stay],
  ];
}

/** Volts gained as stretch k begins, and soon after where they rise: a charging source takes a moment to come up, and none to stop. */
function changeAt(given: EngineCase, k: number): Volts {
  const reach: Seconds = 1.5;
  let before = Number.NaN;
  for (let i = k - 1; i >= 0 && Number.isNaN(before); i--) before = given.idleVolts[i]!;
  let after = given.idleVolts[k]!;
  for (let i = k + 1; i < given.starts.length && given.starts[i]! < given.starts[k]! + reach; i++) {
    const volts = given.idleVolts[i]!;
    if (Number.isNaN(volts)) continue;
    if (Number.isNaN(after) || volts > Math.max(after, before)) after = volts;
  }
  return Number.isNaN(after - before) ? 0 : after - before;
}
