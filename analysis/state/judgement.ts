/**
 * States of one group of logs on one clock: radio, engine and disturbances in each common stretch, all logs judged together.
 */
import type { EngineState, Job, RadioState } from "../job/job.ts";
import { partsOf } from "../job/route.ts";
import type { Seconds } from "../units.ts";
import { cranksIn, withoutCranks } from "./cranks-of-group.ts";
import { type DisturbanceCase, disturbancesOf } from "./disturbance.ts";
import type { Disturbance } from "./disturbance-edges.ts";
import { isPulsed } from "./emission.ts";
import { type Crank, comingUpSeconds, runningProbability } from "./engine.ts";
import { interruptions } from "./interruption.ts";
import { findKeying, type KeyedSteps } from "./keyed-step.ts";
import type { KeyingSignal } from "./keying-signal.ts";
import { loadVoltsOf, withLoadVolts } from "./load-volts.ts";
import { constantRadio, radioByAmps } from "./one-state.ts";
import { pausesIn } from "./pause.ts";
import { openBelow, signalsOf, withoutOpen } from "./signals.ts";
import { type ClockedLog, type Stretch, stretchesOf } from "./stretch.ts";
import { thinEvidence } from "./thin-evidence.ts";

export interface Judgement {
  readonly group: readonly ClockedLog[];
  readonly stretches: readonly Stretch[];
  readonly radio: readonly (RadioState | null)[];
  readonly engine: readonly (EngineState | null)[];
  readonly disturbance: readonly Disturbance[];
  readonly cranks: readonly Crank[];
  /** volts at the load in each stretch, NaN where not seen */
  readonly loadVolts: Float64Array;
}

/** An engine state is stated when it is at least this probable. */
const sureEnough = 0.9;
/** A stretch in which nothing that tells was sampled is taken as its neighbours are, where it is this short. */
const brief: Seconds = 2;

export function judge(job: Job, group: readonly ClockedLog[]): Judgement {
  const stretches = stretchesOf(group);
  const logs = group.map((each) => each.log);
  const starts = Float64Array.from(stretches, (stretch) => stretch.start);
  const ends = Float64Array.from(stretches, (stretch) => stretch.end);
  const volts = supplyVolts(group, stretches);
  const cranks = cranksIn(job, group, stretches, starts, ends);
  const pulsed = isPulsed(job);
  const signals = signalsOf(job, group, stretches).map((signal) => withoutCranks(signal, cranks));
  const task = {
    starts,
    ends,
    signals: signals.map(withoutOpen),
    fixed: fixedRadio(job, group, stretches, cranks),
    regime: new Uint8Array(starts.length),
    pulsed,
  };
  const engineGiven = (found: KeyedSteps) => ({
    starts,
    ends,
    idleVolts: idleVolts(volts, found),
    atBattery: volts.atBattery === true,
    cranks,
    declared: declaredEngine(group, stretches),
    battery: job.battery.type,
    voltsTell: job.source.kind !== "converter",
  });
  let keying = findKeying(task);
  let running = runningProbability(engineGiven(keying));
  const regime = steady(
    Uint8Array.from(running, (p) => (p > 0.5 ? 1 : 0)),
    starts,
    ends,
  );
  if (regime.includes(1) && regime.includes(0)) {
    keying = findKeying({ ...task, regime });
    running = runningProbability(engineGiven(keying));
  }
  const loadVolts = loadVoltsOf(group, stretches);
  const keyed = Uint8Array.from(keying.keying.keyed);
  const pauses = pausesIn({
    starts,
    ends,
    keyed,
    loadVolts,
    minimumVolts: job.load.minimumVolts ?? null,
    pulsed,
    interrupted: interruptions({ starts, ends, signals, steps: keying.steps, keyed, loadVolts }),
    intervalSeconds: Math.min(...logs.map((log) => log.samples.intervalSeconds)),
  });
  for (const { first, last } of pauses) keyed.fill(1, first, last + 1);
  const given: DisturbanceCase = {
    starts,
    ends,
    ...withLoadVolts(starts, ends, signals, keying.steps, loadVolts, keyed, regime),
    keyed,
    pulsed,
    parts: partsOf(job).map((part) => part.id),
  };
  const thin = thinEvidence({ group, starts, signals, found: keying, regime });
  const opened = (k: number) => signals.some(({ overRange }) => overRange[k] === 1);
  return {
    group,
    stretches,
    radio: radioOf(job, group, stretches, keyed, signals, keying, thin),
    engine: engineStates(running, cranks, starts),
    // Where nobody can say that the key was held, nobody can say that a contact gave way while it was.
    disturbance: disturbancesOf(given, pauses).map((name, k) =>
      name === "contact-break" && thin[k] === 1 && !opened(k) ? null : name,
    ),
    cranks,
    loadVolts,
  };
}

/** A regime that lasts but a moment between two alike is theirs: no engine stops and starts so soon. */
function steady(regime: Uint8Array, starts: Float64Array, ends: Float64Array): Uint8Array {
  const joined = Uint8Array.from(regime);
  for (let k = 1; k < joined.length; k++) {
    if (joined[k] === joined[k - 1]) continue;
    let last = k;
    while (last + 1 < joined.length && joined[last + 1] === joined[k]) last++;
    if (last + 1 < joined.length && ends[last]! - starts[k]! < comingUpSeconds)
      joined.fill(joined[k - 1]!, k, last + 1);
    k = last;
  }
  return joined;
}

/** A charging source comes up slowly: what runs soon after a crank ran since the crank. */
function engineStates(running: Float64Array, cranks: readonly Crank[], starts: Float64Array): (EngineState | null)[] {
  const states = Array.from(running, (p) => (p >= sureEnough ? "running" : p <= 1 - sureEnough ? "off" : null));
  for (const { last } of cranks) {
    const caught = states.findIndex((state, k) => k > last && state === "running");
    if (caught > 0 && starts[caught]! - starts[last]! < comingUpSeconds) states.fill("running", last + 1, caught);
  }
  return states;
}

function radioOf(
  job: Job,
  group: readonly ClockedLog[],
  stretches: readonly Stretch[],
  keyed: Uint8Array,
  signals: readonly KeyingSignal[],
  found: KeyedSteps,
  thin: Uint8Array,
): (RadioState | null)[] {
  const shows = found.steps.some((steps) => steps.some((step) => step > 0));
  const constant = shows ? null : constantRadio(job, group);
  const told = stretches.map((_, k) =>
    signals.some((signal, s) => found.steps[s]![k]! > 0 && !Number.isNaN(signal.levels[k]!)),
  );
  const besideTold = (k: number) => told[k - 1] === true || told[k + 1] === true;
  return stretches.map((stretch, k) => {
    const declared = group.find(({ log }, i) => log.recording.radio !== undefined && seen(stretch, i));
    if (declared !== undefined) return declared.log.recording.radio!;
    if (!shows) return constant;
    if (thin[k] === 1) return null;
    if (keyed[k] === 1) return "transmit";
    return told[k] || (stretch.end - stretch.start < brief && besideTold(k)) ? "idle" : null;
  });
}

const seen = (stretch: Stretch, log: number): boolean => stretch.looks[log]!.to > stretch.looks[log]!.from;

function fixedRadio(
  job: Job,
  group: readonly ClockedLog[],
  stretches: readonly Stretch[],
  cranks: readonly Crank[],
): Uint8Array {
  const fixed = new Uint8Array(stretches.length);
  group.forEach(({ log }, i) => {
    if (log.movement.sight !== "current" || isPulsed(job)) return;
    const told = radioByAmps(
      job,
      Float64Array.from(stretches, ({ looks }) => looks[i]!.level),
    );
    told.forEach((radio, k) => {
      const { start, end } = stretches[k]!;
      const looked = seen(stretches[k]!, i) && end - start > log.samples.intervalSeconds;
      if (radio !== null && looked) fixed[k] = radio === "transmit" ? 2 : 1;
    });
  });
  group.forEach(({ log }, i) => {
    if (log.recording.radio === undefined) return;
    stretches.forEach((stretch, k) => {
      if (seen(stretch, i)) fixed[k] = log.recording.radio === "transmit" ? 2 : 1;
    });
  });
  for (const crank of cranks) for (let k = crank.first; k <= crank.last; k++) if (fixed[k] === 0) fixed[k] = 1;
  return fixed;
}

function declaredEngine(group: readonly ClockedLog[], stretches: readonly Stretch[]): Uint8Array {
  const declared = new Uint8Array(stretches.length);
  group.forEach(({ log }, i) => {
    if (log.recording.engine === undefined) return;
    stretches.forEach((stretch, k) => {
      if (seen(stretch, i)) declared[k] = log.recording.engine === "running" ? 2 : 1;
    });
  });
  return declared;
}

interface SupplyVolts {
  readonly levels: Float64Array;
  /** null: no volts log passes the load */
  readonly atBattery: boolean | null;
  /** which log's signal it is */
  readonly log: number;
}

/** The volts log nearest to the battery, as positive levels. */
function supplyVolts(group: readonly ClockedLog[], stretches: readonly Stretch[]): SupplyVolts {
  let best = -1;
  group.forEach(({ log }, i) => {
    const { sight, partsPassed } = log.movement;
    if (sight !== "load" && sight !== "battery") return;
    if (best < 0 || partsPassed > group[best]!.log.movement.partsPassed) best = i;
  });
  if (best < 0) return { levels: new Float64Array(stretches.length).fill(Number.NaN), atBattery: null, log: -1 };
  const { sight, polarity } = group[best]!.log.movement;
  const seenLevels = Float64Array.from(stretches, (stretch) => stretch.looks[best]!.level * polarity);
  const open = openBelow(seenLevels);
  const levels = seenLevels.map((level) => (level < open ? Number.NaN : level));
  return { levels, atBattery: sight === "battery", log: best };
}

/** The volts where the set was idle; what keying takes away is put back where there is nothing else. */
function idleVolts(volts: SupplyVolts, found: KeyedSteps): Float64Array {
  if (volts.log < 0) return volts.levels;
  const idle = volts.levels.map((level, k) => (found.keying.keyed[k] === 0 ? level : Number.NaN));
  if (idle.some((level) => !Number.isNaN(level))) return idle;
  return volts.levels.map((level, k) => level + found.steps[volts.log]![k]!);
}
