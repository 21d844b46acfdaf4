/**
 * Teaches a meter: from its bytes and what its display showed to a recipe, how sure it is, the stream read with it, and
 * the display value that would settle what is still open.
 */
import { askFor, clearlyUnlike } from "./ask.ts";
import { type Belief, lead, noneOfThese, weigh } from "./belief.ts";
import type { Hypothesis } from "./completion.ts";
import { explain } from "./explain.ts";
import { type KindProposal, proposeKinds } from "./frame-kind-search.ts";
import { type FrameKind, isKind } from "./framing.ts";
import { type FramingProposal, proposeFramings } from "./framing-search.ts";
import { type Reading, type Recipe, readStream } from "./recipe.ts";
import { checkLesson, hardlyTyped, type Lesson, type TeachInput, toBase } from "./teach-input.ts";

export interface Taught {
  readonly format: "taught/1";
  /** probability that the recipe reads this meter right; 0 without a recipe */
  readonly sure: number;
  readonly recipe: Recipe | null;
  readonly readings: readonly Reading[];
  readonly ask: string | null;
}

/**
 * @param input a lesson as formats.md section 4 has it; `seconds` of bytes and typed values on one clock, bytes in order
 * @returns the recipe that explains what was typed best and most simply, or null where none does
 * @throws {Problem} where the lesson is not as the format has it
 */
export function teach(input: TeachInput | unknown): Taught {
  const lesson = checkLesson(input);
  const beliefs = lesson.numbers.length > 0 ? weigh(hypotheses(lesson), lesson) : [];
  const best = beliefs[0];
  if (!best) return { format: "taught/1", sure: 0, recipe: null, readings: [], ask: askFor(lesson, beliefs) };
  const recipe = sturdier(best, lesson);
  const readings = recipe === best.recipe ? best.readings : readStream(recipe, lesson.chunks);
  const ask = askFor(lesson, beliefs) ?? (reachesFar(best, lesson) ? clearlyUnlike : null);
  return { format: "taught/1", sure: sureness(best, lesson), recipe, readings, ask };
}

/** Nats by which an explanation must beat chance to end the search among likelier cuts. */
const convincing = 9;
const mostKinds = 10;
/** How much dearer a cut may be than that of a convincing explanation and still be looked at. */
const kindMargin = 4;
/** One typed value in fifty is wrong (our guess). */
const slipCost = 4;

export function hypotheses(lesson: Lesson): Hypothesis[] {
  const kinds = likelyKinds(lesson);
  const found = explainAll(kinds, lesson);
  if (lesson.numbers.length < 4 || found.some((hypothesis) => lead(hypothesis, lesson) > convincing)) return found;
  return [...found, ...withoutOne(kinds, lesson)];
}

function explainAll(kinds: readonly KindProposal[], lesson: Lesson): Hypothesis[] {
  const out: Hypothesis[] = [];
  const bound = { best: Number.POSITIVE_INFINITY };
  for (const kind of kinds) {
    if (
      out.some(
        (hypothesis) => lead(hypothesis, lesson) > convincing && hypothesis.costs.frames < kind.cost - kindMargin,
      )
    )
      break;
    out.push(...explain(kind, lesson, bound));
  }
  return out;
}

/** One typed value may be a slip of the hand, or its frame may have been lost: each in turn is left out, at a price. */
function withoutOne(kinds: readonly KindProposal[], lesson: Lesson): Hypothesis[] {
  const likely = kinds.slice(0, 2);
  return lesson.numbers.flatMap((_, i) => {
    const rest = { ...lesson, numbers: lesson.numbers.filter((_other, k) => k !== i) };
    const price = slipCost + noneOfThese(rest) - noneOfThese(lesson);
    return explainAll(likely, rest).map((hypothesis) => ({ ...hypothesis, cost: hypothesis.cost + price }));
  });
}

/** Kinds of frame, the likeliest first. A check that most of the stream passes leaves no room for cuts that have none. */
export function likelyKinds(lesson: Lesson): KindProposal[] {
  const total = lesson.chunks.reduce((sum, chunk) => sum + chunk.bytes.length, 0);
  const kinds = proposeFramings(lesson.chunks).flatMap((proposal) => {
    const covered = proposal.frames.reduce((sum, frame) => sum + frame.bytes.length, 0) / total;
    return proposeKinds(proposal).map((kind) => {
      const told = explained(proposal, kind);
      const strayShare = Math.max(0, 1 - told / total);
      const cost = kind.cost + strayCost * Math.max(0, strayShare - harmShare);
      const checked = kind.kind.checks.length > 0 && told > 0.7 * total;
      const frameBytes = Math.max((covered * total) / proposal.frames.length, kind.frames[0]?.length ?? 0);
      return {
        kind: { ...kind, cost, strayShare },
        covered,
        checked,
        frameBytes,
        whole: checked && told > 0.9 * total,
      };
    });
  });
  const shortest = Math.min(...kinds.filter(({ whole }) => whole).map(({ frameBytes }) => frameBytes));
  const proven = kinds.some(({ covered, checked }) => checked && covered > 0.7);
  const usable = kinds.filter(
    ({ kind, covered, checked }) => kind.frames.length >= 3 && (checked || !proven) && covered > 0.4,
  );
  const seen = new Set<string>();
  return usable
    .map(({ kind, frameBytes }) =>
      frameBytes > severalFrames * shortest ? { ...kind, cost: kind.cost + joinedCost } : kind,
    )
    .sort((a, b) => a.cost - b.cost)
    .filter((kind) => !seen.has(contentOf(kind)) && seen.add(contentOf(kind)))
    .slice(0, mostKinds);
}

/** Bytes that belong to no frame were harmed on their way; few are. */
const harmShare = 0.01;
const strayCost = 40;

/** Where nearly all bytes are in frames that each pass their check, longer frames are several of these (nats). */
const joinedCost = 5;
const severalFrames = 1.2;

/** Bytes in frames of the kind and of those beside it, ends of lines with them. */
function explained({ framing, frames }: FramingProposal, { kind, others }: KindProposal): number {
  const ends = framing.kind === "delimited" ? 2 : 0;
  const kinds = [kind, ...others.filter((other) => checkedAlike(kind, other))];
  let bytes = 0;
  for (const frame of frames) if (kinds.some((one) => isKind(one, frame.bytes))) bytes += frame.bytes.length + ends;
  return bytes;
}

/** One meter has one check for all that it sends: frames beside it with another check, or none, are pieces cut wrongly. */
function checkedAlike({ checks }: FrameKind, other: FrameKind): boolean {
  const [mine, its] = [checks[0], other.checks[0]];
  if (mine === undefined) return true;
  return mine.kind === its?.kind && mine.bits === its.bits && mine.polynomial === its.polynomial;
}

/** Two ways to cut that give the same frames need be searched once. */
const contentOf = ({ frames, seconds, text }: KindProposal): string =>
  [text, frames.length, seconds[1], seconds.at(-1), ...frames[1]!, "", ...frames.at(-1)!].join();

/**
 * Probability that the recipe reads this meter right: its share among all that explain what was typed, times what nothing in
 * the recording has tested. The factors are our estimates of how often a plain guess holds; tests/bench/teach.ts measures the whole.
 */
export function sureness(belief: Belief, lesson: Lesson): number {
  const { hypothesis, probability, readings } = belief;
  const { costs, looseness, overUnexplained, sign, untoldRanges, unreadRanges } = hypothesis;
  let sure = probability;
  if (sign === "never seen") sure *= 0.9;
  if (untoldRanges || unreadRanges) sure *= 0.9;
  if (costs.idle > 0) sure *= 0.9;
  // A damaged stretch counts once in the readings, however long it is.
  const damage = Math.max(damagedShare(readings), hypothesis.strayShare);
  if (damage > usualDamage) sure *= 1 - damage;
  if (overUnexplained > 0) sure *= 0.5;
  if (looseness > 0 && looseness * mostCounts(readings, lesson) > 0.6) sure *= 0.6;
  else if (reachesFar(belief, lesson)) sure *= 0.9;
  if (hardlyTyped(lesson) !== null) sure *= 0.9;
  const different = new Set(lesson.numbers.map((typed) => typed.base)).size;
  if (different < 3) sure *= different === 2 ? 0.9 : 0.6;
  return Math.round(sure * 1e4) / 1e4;
}

/** Display counts by which numbers far from all that was typed may be read wrong with a round factor that is nearly the right one. */
const farFromTyped = 1.2;

const reachesFar = ({ hypothesis, readings }: Belief, lesson: Lesson): boolean =>
  hypothesis.tolerance > 0 &&
  hypothesis.tolerance * Math.max(mostCounts(readings, lesson), finerCounts(readings, lesson)) > farFromTyped;

/** Well below all that was typed the display may have gone over to a range ten times as fine. */
function finerCounts(readings: readonly Reading[], { numbers }: Lesson): number {
  const least = Math.min(...numbers.map(({ base }) => Math.abs(base)).filter((size) => size > 0));
  const finest = Math.min(...numbers.map(({ step, unit }) => toBase(step, unit)));
  const small = sizesOf(readings).filter((size) => size < least / 2);
  return Math.max(0, ...small) / (finest / 10);
}

const sizesOf = (readings: readonly Reading[]): number[] =>
  readings.flatMap((reading) => ("value" in reading ? [Math.abs(toBase(reading.value, reading.unit))] : []));

/**
 * Display counts of the largest number read. A value up to the least that was typed on a coarser range may have stood on the
 * finer one: a factor that is a little off shows there first.
 */
function mostCounts(readings: readonly Reading[], { numbers }: Lesson): number {
  const typed = numbers.map(({ base, step, unit }) => ({ size: Math.abs(base), step: toBase(step, unit) }));
  const steps = [...new Set(typed.map(({ step }) => step))].sort((a, b) => a - b);
  const sizes = sizesOf(readings);
  return steps.reduce((most, step) => {
    const coarser = Math.min(...typed.filter((one) => one.step > step).map(({ size }) => size));
    return sizes.reduce((counts, size) => (size < coarser ? Math.max(counts, size / step) : counts), most);
  }, 0);
}

/** More harm than this is hardly the link's: some frames are not as the recipe has them. */
const usualDamage = 0.06;

const damagedShare = (readings: readonly Reading[]): number =>
  readings.filter((reading) => "damaged" in reading).length / Math.max(1, readings.length);

/** Frames of known length and sure marks need no pause to be found: such a recipe also holds on a faster or slower line. */
function sturdier(best: Belief, { chunks }: Lesson): Recipe {
  const { recipe, readings } = best;
  const kinds = [recipe.frame, ...recipe.others];
  const marked = kinds.every((kind) => kind.length !== undefined && (kind.checks.length > 0 || kind.fixed.length >= 2));
  if (recipe.framing.kind !== "pause" || !marked) return recipe;
  const changed: Recipe = { ...recipe, framing: { kind: "fixed" } };
  const again = readStream(changed, chunks);
  const good = (list: readonly Reading[]) =>
    list
      .filter((reading) => !("damaged" in reading))
      .map((reading) => ("value" in reading ? reading.value : "over"))
      .join();
  return good(again) === good(readings) ? changed : recipe;
}
