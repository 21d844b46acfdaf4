/**
 * What in a group of logs moves with the load's current: clamps, drops, volts across load and battery,
 * and the difference of two such volts, in which other loads and the charging cancel.
 */
import type { Job } from "../job/job.ts";
import type { Seconds, Volts } from "../units.ts";
import { jumpAt } from "./jump.ts";
import { type KeyingSignal, silenced } from "./keying-signal.ts";
import { pairedLevels } from "./paired-levels.ts";
import type { ClockedLog, Look, PreparedLog, Stretch } from "./stretch.ts";

/** A sound battery's ohms as keying shows them, and the factor within which nearly all lie; voltage-limits.md section 2, from memory. */
export const batteryOhms = { middle: 0.012, factor: 2.5 } as const;
const clampFactor = 1.4;
/** A set draws idle up to so many times what was declared, or this share of the keyed step where nothing was; by judgement. */
const declaredFactor = 1.5;
const mostIdleShare = 0.28;

/** One signal for each log, in order, then one for each pair of volts logs that pass the load. */
export function signalsOf(job: Job, group: readonly ClockedLog[], stretches: readonly Stretch[]): KeyingSignal[] {
  const logs = group.map(({ log }) => log);
  const own = group.map((clocked, i) => ownSignal(job, clocked, stretches, i));
  const outer = outermost(logs);
  const differences: KeyingSignal[] = [];
  for (let i = 0; i < logs.length; i++) {
    if (outer < 0 || i === outer || !passesLoad(logs[i]!)) continue;
    if (logs[i]!.movement.partsPassed === logs[outer]!.movement.partsPassed) continue;
    const difference = differenceSignal(group, stretches, outer, own[outer]!, i, own[i]!);
    differences.push(difference);
    // Where both are seen the difference says all that the inner one does, and is blind to other loads.
    own[i] = silenced(own[i]!, (k) => !Number.isNaN(difference.levels[k]!));
  }
  return [...own, ...differences];
}

const passesLoad = (log: PreparedLog): boolean => log.movement.sight === "load" || log.movement.sight === "battery";

/** The volts log that has most of the loop between its probes and the load: nearest to the battery. */
function outermost(logs: readonly PreparedLog[]): number {
  let best = -1;
  logs.forEach((log, i) => {
    if (!passesLoad(log)) return;
    if (best < 0 || log.movement.partsPassed > logs[best]!.movement.partsPassed) best = i;
  });
  return best;
}

function ownSignal(job: Job, clocked: ClockedLog, stretches: readonly Stretch[], i: number): KeyingSignal {
  const { log } = clocked;
  const column = (take: (look: Look) => number) => Float64Array.from(stretches, (stretch) => take(stretch.looks[i]!));
  const levels = column((look) => look.level);
  const uncertainty = Float64Array.from(stretches, (stretch) => stretch.looks[i]!.uncertainty);
  const run = Int32Array.from(stretches, (stretch) => stretch.looks[i]!.segment);
  const { direction, polarity, sight, expectedAmps, idleShare } = log.movement;
  const open = sight === "load" || sight === "battery" ? openBelow(levels) : Number.NEGATIVE_INFINITY;
  const turned = (values: Float64Array) =>
    values.map((value, k) => (levels[k]! * polarity < open ? Number.NaN : value * direction));
  const shareOfStep = idleShare === null ? 0.08 : idleShare / (1 - idleShare);
  const expected =
    expectedAmps === null
      ? null
      : sight === "current"
        ? { step: expectedAmps, factor: clampFactor }
        : sight === "battery"
          ? { step: expectedAmps * batteryOhms.middle, factor: batteryOhms.factor }
          : null;
  const tellsLevel = sight === "current" || sight === "drop";
  const plain = job.source.kind === undefined || job.source.kind === "battery";
  return {
    levels: turned(levels),
    begins: turned(column((look) => look.begin)),
    finishes: turned(column((look) => look.finish)),
    uncertainty,
    ...jumpsOf(clocked, stretches, turned(levels)),
    run,
    wholeRun: false,
    across: log.movement.across,
    overRange: Uint8Array.from(stretches, (stretch) => (stretch.looks[i]!.overRange ? 1 : 0)),
    sight,
    intervalSeconds: log.samples.intervalSeconds,
    expected: sight === "battery" && !plain ? null : expected,
    idleShare: tellsLevel ? shareOfStep : null,
    restShare: shareOfStep,
    mostRestShare: idleShare === null ? mostIdleShare : declaredFactor * shareOfStep,
  };
}

/** Boundaries nearer than this to another are passed over by the sides that a jump is looked for between. */
const besideSeconds: Seconds = 1;

/**
 * Regulator and battery move the supply's volts slowly as well as keying does at once; of other signals nothing is asked.
 * @param levels NaN where not seen
 */
function jumpsOf({ log, startSeconds, rate }: ClockedLog, stretches: readonly Stretch[], levels: Float64Array) {
  const { sight, direction } = log.movement;
  const { jumps, jumpUncertainty } = notAsked(stretches.length);
  if (sight !== "battery" && sight !== "load") return { jumps, jumpUncertainty };
  const local = (seconds: Seconds) => (seconds - startSeconds) / rate;
  for (let k = 1; k < stretches.length; k++) {
    const at = stretches[k]!.start;
    let [first, last] = [k - 1, k];
    if (Number.isNaN(levels[first]! - levels[last]!)) continue;
    while (levels[first - 1]! > Number.NEGATIVE_INFINITY && at - stretches[first]!.start < besideSeconds) first--;
    while (levels[last + 1]! > Number.NEGATIVE_INFINITY && stretches[last]!.end - at < besideSeconds) last++;
    const jump = jumpAt(log, local(at), local(stretches[first]!.start), local(stretches[last]!.end));
    jumps[k] = jump.height * direction;
    jumpUncertainty[k] = jump.uncertainty;
  }
  return { jumps, jumpUncertainty };
}

const notAsked = (stretches: number) => ({
  jumps: new Float64Array(stretches),
  jumpUncertainty: new Float64Array(stretches).fill(Number.POSITIVE_INFINITY),
});

/** @param a place of the outer log in its group, and b of the inner */
function differenceSignal(
  group: readonly ClockedLog[],
  stretches: readonly Stretch[],
  a: number,
  outer: KeyingSignal,
  b: number,
  inner: KeyingSignal,
): KeyingSignal {
  const run = commonRuns(outer.run, inner.run);
  const paired = pairedLevels(group, stretches, run, a, b);
  const volts = (place: number, values: Float64Array, k: number) => {
    const { direction, polarity } = group[place]!.log.movement;
    return values[k]! * direction * polarity;
  };
  // Between two looks of the slower log nothing is paired: there each log's level stands for itself.
  const where = (own: Float64Array, x: Float64Array, y: Float64Array) =>
    own.map((pair, k) => {
      const apart = volts(a, x, k) - volts(b, y, k);
      return Number.isNaN(pair) || Number.isNaN(apart) ? apart : pair;
    });
  return {
    levels: where(paired.levels, outer.levels, inner.levels),
    begins: where(paired.begins, outer.begins, inner.begins),
    finishes: where(paired.finishes, outer.finishes, inner.finishes),
    uncertainty: outer.uncertainty.map((u, k) => Math.hypot(u, inner.uncertainty[k]!)),
    ...notAsked(outer.run.length),
    run,
    wholeRun: true,
    across: [],
    overRange: new Uint8Array(outer.run.length),
    sight: "drop",
    intervalSeconds: Math.max(outer.intervalSeconds, inner.intervalSeconds),
    expected: null,
    // Two meters differ by their own errors: the level says nothing, the step everything.
    idleShare: null,
    restShare: inner.restShare,
    mostRestShare: inner.mostRestShare,
  };
}

/** A new number wherever either of two changes. */
function commonRuns(a: Int32Array, b: Int32Array): Int32Array {
  let run = 0;
  return a.map((_, k) => {
    if (k > 0 && (a[k] !== a[k - 1] || b[k] !== b[k - 1])) run++;
    return run;
  });
}

/** Volts across a load below a small share of their usual level: a contact is open, and how far they fell says nothing of keying. */
export function openBelow(levels: Float64Array): number {
  const seen = levels
    .filter((level) => !Number.isNaN(level))
    .map(Math.abs)
    .sort();
  return openShare * (seen[Math.floor(usualRank * seen.length)] ?? Number.NaN);
}

const openShare = 0.12;
const usualRank = 0.8;
/** No set works beyond so many volts lost. */
const openDrop: Volts = 6;

/** A drop without the moments in which a contact in it was open: it stands at the supply's volts then, keyed or not. */
export const withoutOpen = (signal: KeyingSignal): KeyingSignal =>
  signal.sight === "drop" ? silenced(signal, (k) => Math.abs(signal.levels[k]!) > openDrop) : signal;
