/**
 * The reading that would tell most: expected reduction of entropy over causes and places, less the work of taking it
 * (method.md section 7). Goes in: belief. Comes out: the best few readings, each with what its outcomes would mean.
 */
import type { NextReading } from "../diagnosis.ts";
import { type Condition, plainCondition } from "../inference/condition.ts";
import { drawsOf } from "../inference/draw.ts";
import type { Belief, Posterior } from "../inference/posterior.ts";
import { momentAmpsShare, momentVolts } from "../inference/prior.ts";
import { type Probe, probeOf, shown } from "../inference/round-setting.ts";
import { seededNormal } from "../inference/seeded-normal.ts";
import type { EngineState, Job, RadioState } from "../job/job.ts";
import { isPoint, partsOf, pointsOf } from "../job/route.ts";
import { causeWords } from "../plain-words.ts";
import type { MeterDoubt } from "../reading/meter-accuracy.ts";
import { meterDoubt } from "../reading/meter-accuracy.ts";
import type { Place } from "../reading/reading.ts";
import type { Candidate } from "./candidate.ts";
import { figureWords, list } from "./place-words.ts";

const mostReadings = 3;
/** Less than this would not change what to do; what it costs decides between readings, not whether one is needed. */
const leastBits = 0.02;
/** A cause less likely than this is not spoken of in what an outcome would mean. */
const leastSpokenOf = 0.008;
/** Sure enough of one cause at one part that another reading would not change what to do. */
const sureEnough = 0.97;
/** Beliefs smaller than this cannot change the choice. */
const leastBelief = 0.002;
const mostBeliefs = 40;
const drawsPerBelief = 16;
const gridPoints = 48;

/** What a reading costs in bits: clips to move, an engine to start, a clamp to fetch, a jumper to lay. */
const cost = { newPoint: 0.015, hardPoint: 0.1, engineRunning: 0.06, clamp: 0.04, jumper: 0.12 } as const;

interface Option {
  readonly place: Place;
  readonly engine: EngineState;
  readonly radio: RadioState;
  readonly bypassed: readonly string[];
  readonly cost: number;
}

/** What one belief predicts for an option. */
interface Prediction {
  readonly belief: Belief;
  readonly weight: number;
  readonly mean: number;
  readonly deviation: number;
}

export function nextReadings(posterior: Posterior, candidates: readonly Candidate[]): NextReading[] {
  const first = candidates[0];
  if (first !== undefined && first.probability > sureEnough && settled(first)) return [];
  const predict = predictor(posterior);
  const weighed = optionsOf(posterior, candidates).map((option) => {
    const predictions = predict(option);
    return { option, predictions, bits: expectedBits(predictions, candidates) };
  });
  return weighed
    .filter(({ bits }) => bits > leastBits)
    .sort((a, b) => b.bits - b.option.cost - (a.bits - a.option.cost))
    .map(({ option, predictions, bits }) => ({ option, bits, meaning: why(option, predictions, candidates) }))
    .filter(({ meaning }) => meaning !== null)
    .slice(0, mostReadings)
    .map(({ option, bits, meaning }) => ({
      ...(option.place.quantity === "volts"
        ? { from: option.place.from, to: option.place.to }
        : { through: option.place.through }),
      engine: option.engine,
      radio: option.radio,
      ...(option.bypassed.length > 0 ? { bypassed: option.bypassed } : {}),
      bits: Math.round(bits * 1000) / 1000,
      why: meaning!,
    }));
}

/** A group of joints is never settled while a reading could split it; a cause without a place is. */
const settled = ({ cause, parts }: Candidate): boolean =>
  (cause !== "high-resistance-connection" && cause !== "intermittent-connection") || parts.length === 1;

function optionsOf({ setting }: Posterior, candidates: readonly Candidate[]): Option[] {
  const { job } = setting;
  const used = new Set(
    setting.prepared.flatMap(({ reading: { place } }) => (place.quantity === "volts" ? [place.from, place.to] : [])),
  );
  const reach = new Map(job.loop.filter(isPoint).map((item) => [item.point, item.reach ?? "easy"]));
  const points = pointsOf(job).filter((point) => reach.get(point) !== "no");
  const pointCost = (point: string) =>
    (used.has(point) ? 0 : cost.newPoint) + (reach.get(point) === "hard" ? cost.hardPoint : 0);
  const places = points.flatMap((from, index) =>
    points.slice(index + 1).map((to) => ({
      place: { quantity: "volts", from, to } as const,
      cost: pointCost(from) + pointCost(to),
    })),
  );
  const clamps = clampPlaces(job).map((through) => ({
    place: { quantity: "amps", through } as const,
    cost: cost.clamp,
  }));
  const states = statesToOffer(candidates);
  const jumpers = jumperTests(job, candidates, pointCost);
  return [
    ...states.flatMap(({ engine, radio }) =>
      [...places, ...clamps].map((option) => ({
        ...option,
        engine,
        radio,
        bypassed: [],
        cost: option.cost + (engine === "running" ? cost.engineRunning : 0),
      })),
    ),
    ...jumpers,
  ];
}

/** One wire of each leg is where a clamp goes on. */
function clampPlaces(job: Job): string[] {
  const parts = partsOf(job);
  const wires = parts.filter((part) => part.part === "wire");
  return [...new Set([wires[0], wires.at(-1)].filter((wire) => wire !== undefined).map(({ id }) => id))];
}

function statesToOffer(candidates: readonly Candidate[]): { engine: EngineState; radio: RadioState }[] {
  const charging = candidates.some(
    ({ cause, probability }) => (cause === "no-charging" || cause === "overcharging") && probability > 0.02,
  );
  return [
    { engine: "off", radio: "transmit" },
    { engine: "off", radio: "idle" },
    ...(charging ? [{ engine: "running", radio: "idle" } as const] : []),
  ];
}

/** A heavy jumper round each suspect joint, the load's volts read; never round a fuse (`safety.md`). */
function jumperTests(job: Job, candidates: readonly Candidate[], pointCost: (point: string) => number): Option[] {
  const first = candidates[0];
  if (first?.cause !== "high-resistance-connection") return [];
  const parts = first.parts.map((index) => partsOf(job)[index]!).filter(({ part }) => part !== "fuse");
  return parts.map(({ id }) => ({
    place: { quantity: "volts", from: "load+", to: "load-" },
    engine: "off",
    radio: "transmit",
    bypassed: [id],
    cost: cost.jumper + pointCost("load+") + pointCost("load-"),
  }));
}

/** Predictions of the likeliest beliefs; circuits are solved once for each condition and shared by all options. */
function predictor({ setting, beliefs }: Posterior): (option: Option) => Prediction[] {
  const likely = beliefs.filter(({ probability }) => probability > leastBelief).slice(0, mostBeliefs);
  const normal = seededNormal(77);
  const draws = likely.map((belief) => drawsOf(belief, drawsPerBelief, normal));
  const doubts = {
    volts: nextDoubt(setting.job, "volts"),
    amps: nextDoubt(setting.job, "amps"),
  };
  const solved = new Map<string, ReturnType<Belief["model"]["solve"]>[][]>();
  const solve = (condition: Condition) => {
    const key = JSON.stringify(Object.values(condition));
    const known =
      solved.get(key) ?? draws.map((own) => own.map((draw) => draw.belief.model.solve(draw.values, condition)));
    solved.set(key, known);
    return known;
  };
  return (option) => {
    const condition = { ...plainCondition(option.engine, option.radio), bypassed: option.bypassed };
    const probe = probeOf(setting.job, option.place);
    const circuits = solve(condition);
    return likely.map((belief, index) => {
      const values = circuits[index]!.map((circuit) => shown(probe, circuit));
      const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
      const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1);
      const doubt = readingDoubt(doubts[option.place.quantity], probe, option, mean);
      return { belief, weight: belief.probability, mean, deviation: Math.sqrt(variance + doubt ** 2) };
    });
  };
}

/** The next reading will be taken with the meter at hand. */
function nextDoubt(job: Job, quantity: "volts" | "amps"): MeterDoubt {
  const meter = job.meters.find((own) => own[quantity] !== undefined);
  return meterDoubt(job, meter?.id, quantity, 0);
}

function readingDoubt(doubt: MeterDoubt, probe: Probe, { engine }: Option, value: number): number {
  const moment = probe.throughLoad ? momentVolts[engine] : momentAmpsShare * Math.abs(value);
  // A drop is read on a range of its own, ten times finer than the battery's.
  const counts = Math.abs(value) < 1 && !probe.clamp ? doubt.counts / 10 : doubt.counts;
  return Math.hypot(doubt.gain * value, counts, moment);
}

/** Mutual information between the reading and the cause with its place, by summing over a grid of outcomes. */
function expectedBits(predictions: readonly Prediction[], candidates: readonly Candidate[]): number {
  const keys = predictions.map(({ belief }) => causeKey(belief));
  const classes = [...new Set(keys)];
  const place = keys.map((key) => classes.indexOf(key));
  const total = predictions.reduce((sum, { weight }) => sum + weight, 0);
  const before = new Float64Array(classes.length);
  predictions.forEach(({ weight }, n) => {
    before[place[n]!]! += weight / total;
  });
  const low = Math.min(...predictions.map(({ mean, deviation }) => mean - 4 * deviation));
  const high = Math.max(...predictions.map(({ mean, deviation }) => mean + 4 * deviation));
  const nodes = outcomeNodes(predictions, low, high);
  let after = 0;
  let mass = 0;
  for (const { value, width } of nodes) {
    const joint = new Float64Array(classes.length);
    predictions.forEach(({ weight, mean, deviation }, n) => {
      const z = (value - mean) / deviation;
      joint[place[n]!]! += ((weight / total) * Math.exp((-z * z) / 2)) / (deviation * Math.sqrt(2 * Math.PI));
    });
    const density = joint.reduce((sum, one) => sum + one, 0);
    mass += density * width;
    after += width * density * entropyBits(joint, density);
  }
  return candidates.length === 0 || mass === 0 ? 0 : Math.max(entropyBits(before, 1) - after / mass, 0);
}

/** Outcomes to sum over: spread evenly, and closely about each belief's own prediction, which may be narrow. */
function outcomeNodes(
  predictions: readonly Prediction[],
  low: number,
  high: number,
): { value: number; width: number }[] {
  const values = Array.from({ length: gridPoints }, (_, k) => low + ((k + 0.5) / gridPoints) * (high - low));
  for (const { mean, deviation } of predictions.slice(0, 12)) {
    for (let k = -3; k <= 3; k++) values.push(mean + k * 0.8 * deviation);
  }
  values.sort((a, b) => a - b);
  return values.map((value, k) => ({
    value,
    width: ((values[k + 1] ?? value) - (values[k - 1] ?? value)) / 2,
  }));
}

function entropyBits(weights: Float64Array, total: number): number {
  if (total <= 0) return 0;
  let bits = 0;
  for (const weight of weights) if (weight > 0) bits -= (weight / total) * Math.log2(weight / total);
  return bits;
}

const causeKey = ({ hypothesis }: Belief): string =>
  hypothesis.faults
    .map(({ cause, part }) => `${cause} ${part}`)
    .sort()
    .join("+");

/** What each outcome would mean, for the causes that are still likely; null where all of them would read the same. */
function why(option: Option, predictions: readonly Prediction[], candidates: readonly Candidate[]): string | null {
  const meanings = candidates
    .flatMap((candidate) => splitPlaces(candidate, predictions))
    .map(({ name, predictions: own }) => {
      const weight = own.reduce((sum, one) => sum + one.weight, 0);
      return { name, weight, mean: own.reduce((sum, one) => sum + (one.weight / weight) * one.mean, 0) };
    })
    .filter(({ weight }) => weight > leastSpokenOf)
    .sort((a, b) => b.weight - a.weight)
    .slice(0, 4)
    .sort((a, b) => b.mean - a.mean);
  const outcomes = merge(option, meanings).map(({ names, value }) => `about ${value}: ${list(names)}`);
  return outcomes.length > 1 ? outcomes.join("; ") : null;
}

/** Outcomes that read the same say the same. */
function merge(
  option: Option,
  meanings: readonly { name: string; mean: number }[],
): { names: string[]; value: string }[] {
  const merged: { names: string[]; value: string }[] = [];
  for (const { name, mean } of meanings) {
    const value = figureWords(option.place, mean);
    const same = merged.find((entry) => entry.value === value);
    if (same === undefined) merged.push({ names: [name], value });
    else same.names.push(name);
  }
  return merged;
}

/** A group of joints is spoken of joint by joint where the reading is to split it. */
function splitPlaces(
  candidate: Candidate,
  predictions: readonly Prediction[],
): { name: string; predictions: Prediction[] }[] {
  const of = (test: (belief: Belief) => boolean) => predictions.filter(({ belief }) => test(belief));
  if (candidate.parts.length > 1 && !settled(candidate)) {
    return candidate.parts.map((part) => ({
      name: predictions[0]!.belief.model.setting.expected[part]!.id,
      predictions: of(({ hypothesis }) =>
        hypothesis.faults.some((fault) => candidate.matches(fault) && fault.part === part),
      ),
    }));
  }
  const ids = candidate.parts.map((part) => predictions[0]!.belief.model.setting.expected[part]!.id);
  const name = settled(candidate) && candidate.parts.length === 1 ? ids[0]! : causeWords[candidate.cause];
  return [{ name, predictions: of((belief) => candidate.beliefs.includes(belief)) }];
}
