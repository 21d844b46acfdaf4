/**
 * How far each signal moves when the set is keyed, and when that was: all signals of a group judged together.
 */
import { decodeKeying, type Keying } from "./keying.ts";
import { type KeyingSignal, silenced } from "./keying-signal.ts";
import { median } from "./median.ts";
import { rankedByTime } from "./ranked-by-time.ts";
import { type Rise, risesOf } from "./rise.ts";
import { type Alone, aloneIn, type KeyingTask, needsClarity } from "./step-alone.ts";
import { standing } from "./step-size.ts";

/** A signal of less than this share of another's merit is not asked where the other is heard. */
const outdoneShare = 0.15;
/** Keyed steps this many uncertainties high decide alone. */
const clearlyHeard = 4;
/** A lead is overruled where another leaves so much less unexplained; so many others are asked. */
const overruled = 12;
/** A transmission that lowers what keying raises leaves so much unexplained. */
const wrongWay = 12;
const mostLeads = 3;

export interface KeyedSteps {
  /** for each signal and stretch; 0 where the signal shows no keying */
  readonly steps: readonly Float64Array[];
  readonly scales: readonly number[];
  readonly keying: Keying;
}

/**
 * Keying of a group: found in the signal that shows it best, carried to the others, then decided by all together.
 * Where signals by themselves show different keying, a lead is overruled by one that leaves the group clearly less unexplained:
 * a contact that opens moves a drop more than keying does, and within it.
 */
export function findKeying(task: KeyingTask): KeyedSteps {
  const alone = task.signals.map((_, s) => aloneIn(task, s));
  const scales = alone.map((each) => each.scale);
  const leads = alone
    .map((_, s) => s)
    .filter((s) => alone[s]!.merit > 0)
    .sort((a, b) => alone[b]!.merit - alone[a]!.merit);
  const [first] = leads;
  if (first === undefined) return nothing(task, scales);
  let found = ledBy(task, alone, scales, first);
  const others = leads.slice(1).filter((lead) => differs(alone[lead]!.keying, alone[first]!.keying));
  if (others.length === 0) return found;
  let least = unexplained(task, scales, found) - overruled;
  for (const lead of others.slice(0, mostLeads)) {
    const other = ledBy(task, alone, scales, lead);
    const cost = unexplained(task, scales, other);
    if (cost >= least) continue;
    least = cost;
    found = other;
  }
  return found;
}

function ledBy(task: KeyingTask, alone: readonly Alone[], scales: readonly number[], lead: number): KeyedSteps {
  let keying = alone[lead]!.keying;
  let steps: Float64Array[] = [];
  for (let pass = 0; pass < 2; pass++) {
    steps = task.signals.map((signal, s) => (s === lead ? alone[s]!.steps : stepsGiven(task, signal, keying)));
    const signals = bestHeard(
      task.signals,
      steps,
      alone.map(({ merit }) => merit),
    );
    const told = task.fixed.map((state, k) => (steps.some((each) => each[k]! > 0) ? state : Math.max(state, 1)));
    keying = decodeKeying({
      ...task,
      fixed: told,
      idleLevels: task.signals.map((signal) => idleLevelOf(task, signal, keying)),
      signals,
      steps,
      scales: scales.map((scale, s) => settledScale(steps[s]!, scale)),
    });
  }
  return { steps, scales, keying };
}

/** Whether two signals show keying at different times. */
function differs({ keyed: a }: Keying, { keyed: b }: Keying): boolean {
  return a.some((state, k) => state !== b[k]);
}

/** What a keying leaves unexplained in all signals, none silenced, and what it has the wrong way round. */
function unexplained(task: KeyingTask, scales: readonly number[], { steps, keying }: KeyedSteps): number {
  const { cost } = decodeKeying({
    ...task,
    fixed: keying.keyed.map((state) => state + 1),
    idleLevels: task.signals.map((signal) => idleLevelOf(task, signal, keying)),
    steps,
    scales,
  });
  const turned = task.signals.map(
    (signal) =>
      beginnings(task, risesOf(signal, keying.keyed)).filter(
        ({ k, height }) => height < -clearlyHeard * signal.uncertainty[k]!,
      ).length,
  );
  return cost + wrongWay * turned.reduce((sum, count) => sum + count, 0);
}

/** What a signal that follows the load's current shows where idle; others move with the battery and have no such level. */
function idleLevelOf({ starts, ends }: KeyingTask, { sight, levels }: KeyingSignal, { keyed }: Keying): number {
  if (sight !== "current" && sight !== "drop") return Number.NaN;
  const idle = Array.from(levels, (height, k) => ({ height, seconds: ends[k]! - starts[k]! })).filter(
    ({ height }, k) => keyed[k] === 0 && !Number.isNaN(height),
  );
  return idle.length > 0 ? rankedByTime(idle, 0.5) : Number.NaN;
}

/**
 * Stretch by stretch the signals that are worth hearing: one that shows keying much better than others silences them,
 * and one heard clearly that no other load moves silences those that other loads and the charging move.
 */
function bestHeard(
  signals: readonly KeyingSignal[],
  steps: readonly Float64Array[],
  merits: readonly number[],
): KeyingSignal[] {
  const followsLoad = ({ sight }: KeyingSignal) => sight === "current" || sight === "drop";
  const clear = (s: number, k: number) =>
    !Number.isNaN(signals[s]!.levels[k]!) && steps[s]![k]! > clearlyHeard * signals[s]!.uncertainty[k]!;
  const outdone = (s: number, k: number) =>
    signals.some(
      (other, o) =>
        clear(o, k) &&
        (merits[s]! < outdoneShare * merits[o]! || (followsLoad(other) && merits[o]! > 0 && !followsLoad(signals[s]!))),
    );
  return signals.map((signal, s) => silenced(signal, (k) => outdone(s, k)));
}

/** Once the keyed step is known, what is small beside it counts little. */
function settledScale(steps: Float64Array, scale: number): number {
  const known = steps.filter((step) => step > 0);
  return known.length > 0 ? known.reduce((least, step) => Math.min(least, step)) : scale;
}

function nothing(task: KeyingTask, scales: readonly number[]): KeyedSteps {
  const n = task.starts.length;
  const keyed = Uint8Array.from(task.fixed, (state) => (state === 2 ? 1 : 0));
  return { steps: task.signals.map(() => new Float64Array(n)), scales, keying: { keyed, cost: 0 } };
}

/**
 * Keyed step of a signal in each regime, the keying given: middle of the rises over the idle level beside them, as each
 * transmission begins. Later a contact may have given way, or the set let go.
 */
function stepsGiven(task: KeyingTask, signal: KeyingSignal, keying: Keying): Float64Array {
  const steps = new Float64Array(task.starts.length);
  // What keying seems to lower stood higher before because a contact was open, not because the set was idle.
  const whole = signal.sight === "drop" || signal.sight === "load";
  const all = risesOf(signal, keying.keyed).filter(({ height }) => !whole || height > 0);
  const rises = task.pulsed ? all : beginnings(task, all);
  for (const regime of new Set(task.regime)) {
    const here = rises.filter((rise) => task.regime[rise.k] === regime);
    // What answers otherwise while it is charged says nothing of a regime in which no keying was seen.
    const used = here.length > 0 || needsClarity(signal) ? here : rises;
    const step = median(used.map((rise) => rise.height));
    const noise = median(signal.uncertainty);
    // What rises now more, now less or not at all is the regulator's doing, or another load's.
    const spread = needsClarity(signal) ? median(used.map(({ height }) => Math.abs(height - step))) : 0;
    if (step > Math.max(2 * noise, spread))
      for (let k = 0; k < steps.length; k++) if (task.regime[k] === regime) steps[k] = step;
  }
  return steps;
}

/** Of each transmission the first rise that stands, or the first where none does. */
function beginnings(task: KeyingTask, rises: readonly Rise[]): Rise[] {
  const stands = standing(task);
  const found: Rise[] = [];
  for (let i = 0; i < rises.length; ) {
    let end = i + 1;
    while (end < rises.length && rises[end]!.first === rises[i]!.first) end++;
    const own = rises.slice(i, end);
    found.push(own.find(({ k }) => stands(k)) ?? own[0]!);
    i = end;
  }
  return found;
}
