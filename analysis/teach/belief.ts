/**
 * Weighs recipes against each other. Recipes that read the whole stream alike are one belief; its share of all that could
 * explain what was typed, "none of these" included, is how sure the program is, less what stays in doubt.
 */

import type { Hypothesis } from "./completion.ts";
import type { Chunk } from "./framing.ts";
import { type Reading, type Recipe, readStream } from "./recipe.ts";
import { ordinaryUnsteadiness } from "./stream-evidence.ts";
import { type Lesson, toBase } from "./teach-input.ts";

export interface Belief {
  readonly hypothesis: Hypothesis;
  readonly recipe: Recipe;
  readonly readings: readonly Reading[];
  /** 0 to 1, all beliefs and "none of these" sum to 1 */
  probability: number;
}

export const score = ({ cost, logLikelihood }: Hypothesis): number => logLikelihood - cost;

/** Nats that the steps of any true reading of such a recording cost: they are not held against a hypothesis beside chance. */
const ordinarySteps = ({ costs }: Hypothesis, lesson: Lesson): number =>
  Math.min(costs.stream, ordinaryUnsteadiness(durationOf(lesson)));

/** Nats by which a hypothesis beats chance. */
export const lead = (hypothesis: Hypothesis, lesson: Lesson): number =>
  score(hypothesis) + ordinarySteps(hypothesis, lesson) - noneOfThese(lesson);

const durationOf = ({ chunks }: Lesson): number => (chunks.at(-1)?.seconds ?? 0) - (chunks[0]?.seconds ?? 0);

/** Hypotheses further behind the best than this (nats) are only counted, not read out. */
const farBehind = 12;
/** nats by which a hypothesis may be behind another that reads alike and still stand for it */
const replaceable = 4;
const mostRead = 32;

/** @returns most probable first; empty where nothing explains what was typed */
export function weigh(hypotheses: readonly Hypothesis[], lesson: Lesson): Belief[] {
  const order = [...hypotheses].sort((a, b) => score(b) - score(a));
  if (order.length === 0) return [];
  const none = noneOfThese(lesson) - ordinarySteps(order[0]!, lesson);
  const reference = Math.max(none, score(order[0]!));
  const finest = Math.min(...lesson.numbers.map((typed) => toBase(typed.step, typed.unit)));
  const beliefs: Belief[] = [];
  let total = Math.exp(none - reference);
  for (const [rank, hypothesis] of order.entries()) {
    const weight = Math.exp(score(hypothesis) - reference);
    total += weight;
    if (rank >= mostRead || score(hypothesis) < score(order[0]!) - farBehind) continue;
    addToBelief(beliefs, hypothesis, weight, lesson.chunks, finest);
  }
  for (const belief of beliefs) belief.probability /= total;
  return beliefs.sort((a, b) => b.probability - a.probability);
}

function addToBelief(
  beliefs: Belief[],
  hypothesis: Hypothesis,
  weight: number,
  chunks: readonly Chunk[],
  finest: number,
): void {
  const recipe = hypothesis.recipe();
  const readings = readStream(recipe, chunks);
  const good = readings.filter((reading) => !("damaged" in reading)).length;
  if (good < 0.4 * readings.length || good < 3) return;
  const same = beliefs.find((belief) => alike(belief.readings, readings, finest / 2));
  if (!same) {
    beliefs.push({ hypothesis, recipe, readings, probability: weight });
    return;
  }
  same.probability += weight;
  // Far behind, it may read more only because it tells less apart.
  if (score(hypothesis) < score(same.hypothesis) - replaceable) return;
  if (better(same.readings, readings, finest) || isPlainer(hypothesis, same.hypothesis))
    Object.assign(same, { hypothesis, recipe, readings });
}

/** Of two that read alike and are about as likely, a power of ten is exact where another round factor only comes near. */
const aboutAsLikely = 2;

const isPlainer = (one: Hypothesis, other: Hypothesis): boolean =>
  one.tolerance === 0 && other.tolerance > 0 && score(one) > score(other) - aboutAsLikely;

const goodOnly = (readings: readonly Reading[]): Reading[] => readings.filter((reading) => !("damaged" in reading));

/**
 * Of two that agree the one that reads more is the better document, if what it reads beyond the other fits in between:
 * frames of another kind taken for readings do not.
 */
function better(before: readonly Reading[], after: readonly Reading[], finest: number): boolean {
  const [old, fresh] = [goodOnly(before), goodOnly(after)];
  if (Math.abs(fresh.length - old.length) < 2) return false;
  return fresh.length > old.length ? extrasFit(old, fresh, finest) : !extrasFit(fresh, old, finest);
}

function extrasFit(fewer: readonly Reading[], more: readonly Reading[], finest: number): boolean {
  const known = new Set(fewer.map((reading) => reading.seconds));
  const step = Math.max(finest, ownStep(fewer));
  let steady = 0;
  let fitting = 0;
  for (let i = 1; i < more.length - 1; i++) {
    const [previous, extra, next] = [more[i - 1]!, more[i]!, more[i + 1]!];
    if (known.has(extra.seconds) || !known.has(previous.seconds) || !known.has(next.seconds)) continue;
    const [a, b, c] = [baseValue(previous), baseValue(extra), baseValue(next)];
    const slack = Math.abs(a - c) + 6 * step + 0.002 * Math.abs(a);
    if (!(Math.abs(a - c) <= 20 * step + 0.02 * Math.abs(a))) continue;
    steady++;
    if (Math.abs(b - (a + c) / 2) <= slack) fitting++;
  }
  return fitting >= 0.7 * steady;
}

/** The smallest step between readings that follow each other: a converter may be coarser than its display. */
function ownStep(readings: readonly Reading[]): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 1; i < readings.length; i++) {
    const step = Math.abs(baseValue(readings[i]!) - baseValue(readings[i - 1]!));
    if (step > 1e-9 && step < least) least = step;
  }
  return Number.isFinite(least) ? least : 0;
}

/**
 * Chance alone: how probable the typed values are where nothing here is right, by the number of values that the display
 * could have shown. Six nats are our prior that a meter's way is none of those searched.
 */
export function noneOfThese(lesson: Lesson): number {
  let sum = -6 - 2.3 * lesson.overRangeSeconds.length;
  const most = Math.max(...lesson.numbers.map((typed) => Math.abs(typed.base)));
  const distinct = new Set(lesson.numbers.map((typed) => typed.base)).size;
  for (const typed of lesson.numbers)
    sum -= Math.log(Math.max(4, most / toBase(typed.step, typed.unit))) * (distinct / lesson.numbers.length);
  return sum;
}

const baseValue = (reading: Reading): number =>
  "value" in reading ? toBase(reading.value, reading.unit) : Number.POSITIVE_INFINITY;

/** Whether two readings of one stream never contradict each other and mostly speak of the same moments. */
function alike(a: readonly Reading[], b: readonly Reading[], tolerance: number): boolean {
  const whole = (readings: readonly Reading[]) => {
    const moments = new Map<number, number[]>();
    for (const reading of readings) {
      if ("damaged" in reading) continue;
      const list = moments.get(reading.seconds) ?? [];
      list.push(baseValue(reading));
      moments.set(reading.seconds, list);
    }
    return moments;
  };
  const [left, right] = [whole(a), whole(b)];
  let shared = 0;
  for (const [seconds, values] of left) {
    const others = right.get(seconds);
    if (!others || others.length !== values.length) continue;
    shared++;
    for (const [i, value] of values.entries()) {
      const other = others[i]!;
      if (value !== other && !(Math.abs(value - other) <= tolerance)) return false;
    }
  }
  return shared >= 0.8 * Math.min(left.size, right.size);
}
