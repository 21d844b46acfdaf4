/**
 * Which bit says that the number is negative, or how well the number's own sign turns. Where nobody typed such a value the
 * stream itself may tell: a sign turns where the number passes nought or jumps.
 */
import { type BitTrack, flagOf } from "./flag-search.ts";
import type { Flag } from "./recipe.ts";
import { thresholdEvidence } from "./size-threshold.ts";
import type { Levels } from "./stream-evidence.ts";

export interface SignProposal {
  readonly flag: Flag | null;
  /** nats */
  readonly cost: number;
}

/** A typed value with the frames that show it. */
export interface Match {
  readonly negative: boolean;
  readonly zero: boolean;
  readonly frames: readonly number[];
}

/**
 * Which bit says that the number is negative. What turns it without a jump of the number, away from nought, is against it.
 * @param sizes by frame, without a sign; NaN or Infinity where there is none
 * @param held bits that may be a hold's
 */
export function signProposals(
  bits: readonly BitTrack[],
  matches: readonly Match[],
  sizes: Float64Array,
  levels: Levels,
  held: ReadonlySet<BitTrack>,
): SignProposal[] {
  const telling = matches.filter((match) => !match.zero);
  const typed = telling.some((match) => match.negative);
  const place = Math.log(bits.length + 1);
  const out: SignProposal[] = typed ? [] : [{ flag: null, cost: 0 }];
  for (const track of bits) {
    const strength = signStrength(track.values, sizes, levels);
    if (!typed && strength <= 0 && track.minus === null) continue;
    const ofRange = typed ? 0 : Math.min(mostOfRange, thresholdEvidence(track.values, sizes, levels));
    for (const equals of [1, 0]) {
      const agrees = telling.every(({ negative, frames }) =>
        frames.some((frame) => (track.values[frame] === equals) === negative),
      );
      const share = (equals ? track.ones : sizes.length - track.ones) / sizes.length;
      // Most of a recording is positive, and a set bit means minus more often than plus (common practice).
      const printed = track.minus === equals;
      const habit =
        (printed ? -printedEvidence : equals ? 0 : 2) +
        (share > 0.6 ? 1.5 : 0) +
        track.busy +
        (held.has(track) ? heldCost : 0);
      if (agrees) out.push({ flag: flagOf(track, equals), cost: (typed ? place : 2.5) + habit + ofRange - strength });
    }
  }
  return out.sort((a, b) => a.cost - b.cost).slice(0, 4);
}

/** Nats for a printed minus: what else would turn into one. */
const printedEvidence = 4;

/** Nats against a sign that nobody typed and that goes by the size of the number alone. */
const mostOfRange = 4;

/** Nats against a sign while which nothing moves: that is a hold. */
const heldCost = 3;

/** The same for a number that brings its sign along: how its own sign turns. */
export function ownSignCost(values: Float64Array, levels: Levels): number {
  const negative = Uint8Array.from(values, (value) => (value < 0 ? 1 : 0));
  const share = negative.reduce((sum, bit) => sum + bit, 0) / values.length;
  if (share === 0) return 0;
  return 0.5 + (share > 0.6 ? 1.5 : 0) - signStrength(negative, values.map(Math.abs), levels);
}

/** Where a number leaps about, its own changes are no measure of nought: as much of the most that it ever was still is near. */
const smallShare = 0.05;

/** Nats that the stream speaks for a sign: it turns at nought, where nothing else has reason to, or as the number jumps. */
function signStrength(track: Uint8Array, sizes: Float64Array, { noise, jumps }: Levels): number {
  const turns = { nearZero: 0, withJump: 0, unlikely: 0 };
  const most = sizes.reduce((high, size) => (size < Number.POSITIVE_INFINITY ? Math.max(high, size) : high), 0);
  let last = -1;
  for (let i = 0; i < sizes.length; i++) {
    if (!(sizes[i]! < Number.POSITIVE_INFINITY)) continue;
    if (last >= 0 && track[i] !== track[last]) {
      if (sizes[last]! + sizes[i]! <= Math.min(12 * noise[i]!, smallShare * most)) turns.nearZero++;
      else if (jumps[i] || Math.abs(sizes[i]! - sizes[last]!) > 5 * noise[i]!) turns.withJump++;
      else if (sizes[last]! + sizes[i]! <= 2 * stepBeside(sizes, last, i)) turns.withJump++;
      else turns.unlikely++;
    }
    last = i;
  }
  return Math.min(9, 1.5 * turns.nearZero + 0.5 * Math.min(3, turns.withJump)) - 2.5 * Math.min(4, turns.unlikely);
}

/** The larger of the steps before and behind one: a display that creeps through nought goes on much as it went. */
function stepBeside(sizes: Float64Array, from: number, to: number): number {
  const steps = [sizes[from]! - (sizes[from - 1] ?? Number.NaN), sizes[to]! - (sizes[to + 1] ?? Number.NaN)];
  return Math.max(0, ...steps.map(Math.abs).filter(Number.isFinite));
}
