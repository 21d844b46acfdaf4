/**
 * Single bits that speak about the number: negative, over-range, held. Where nobody typed such a value the stream itself may
 * tell: a sign turns where the number passes nought or jumps, over-range and hold freeze the number.
 */
import type { Flag } from "./recipe.ts";
import { thresholdEvidence } from "./size-threshold.ts";
import { type Levels, levelsOf } from "./stream-evidence.ts";

export interface BitTrack {
  readonly at: number;
  readonly shift: number;
  /** by frame, 0 or 1 */
  readonly values: Uint8Array;
  readonly ones: number;
  /** nats against its being a flag: its byte takes many values, as bar graphs and counters do */
  readonly busy: number;
}

/** Flags that share a byte make few patterns: so many are no sign of anything else (our choice). */
const flagPatterns = 6;

/** All bits that change within a kind of frame, but not with every frame. */
export function livingBits(frames: readonly Uint8Array[], taken: ReadonlySet<number>): BitTrack[] {
  const length = Math.min(...frames.map((frame) => frame.length));
  const out: BitTrack[] = [];
  for (let at = 0; at < length; at++) {
    const busy = Math.max(0, Math.log(new Set(frames.map((frame) => frame[at]!)).size / flagPatterns));
    for (let shift = 0; shift < 8; shift++) {
      if (taken.has(at * 8 + shift)) continue;
      const values = new Uint8Array(frames.length);
      let ones = 0;
      let turns = 0;
      for (const [i, frame] of frames.entries()) {
        values[i] = (frame[at]! >> shift) & 1;
        ones += values[i]!;
        if (i > 0 && values[i] !== values[i - 1]) turns++;
      }
      if (ones > 0 && ones < frames.length && turns < 0.45 * frames.length) out.push({ at, shift, values, ones, busy });
    }
  }
  return out;
}

/** Figures that are none turn bits of their own: that tells nothing. */
const noNumber = 2;

/** Bits that seldom turn, and mostly as the raw number jumps. */
export function jumpingWith(raw: Float64Array, bits: readonly BitTrack[]): BitTrack[] {
  const counts = raw.every((x) => !Number.isFinite(x) || Number.isInteger(x)) ? 1 : 0;
  const levels = levelsOf(raw, counts).jumps;
  const jumps = raw.map((x, i) => (Number.isFinite(x - raw[Math.max(0, i - 1)]!) ? levels[i]! : noNumber));
  return bits.filter(({ values }) => {
    let turns = 0;
    let jumping = 0;
    for (let i = 1; i < values.length; i++) {
      if (values[i] === values[i - 1] || jumps[i] === noNumber) continue;
      turns++;
      jumping += jumps[i]!;
    }
    return turns > 0 && turns < 0.15 * values.length && jumping >= 0.6 * turns;
  });
}

export const flagOf = ({ at, shift }: BitTrack, equals: number): Flag => ({ at, shift, bits: 1, equals });

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
    if (!typed && strength <= 0) continue;
    const ofRange = typed ? 0 : Math.min(mostOfRange, thresholdEvidence(track.values, sizes, levels));
    for (const equals of [1, 0]) {
      const agrees = telling.every(({ negative, frames }) =>
        frames.some((frame) => (track.values[frame] === equals) === negative),
      );
      const share = (equals ? track.ones : sizes.length - track.ones) / sizes.length;
      // Most of a recording is positive, and a set bit means minus more often than plus (common practice).
      const habit = (equals ? 0 : 2) + (share > 0.6 ? 1.5 : 0) + track.busy + (held.has(track) ? heldCost : 0);
      if (agrees) out.push({ flag: flagOf(track, equals), cost: (typed ? place : 2.5) + habit + ofRange - strength });
    }
  }
  return out.sort((a, b) => a.cost - b.cost).slice(0, 4);
}

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
      else turns.unlikely++;
    }
    last = i;
  }
  return Math.min(9, 1.5 * turns.nearZero + 0.5 * Math.min(3, turns.withJump)) - 2.5 * Math.min(4, turns.unlikely);
}

export interface OverProposal {
  readonly flags: readonly Flag[];
  readonly codes: readonly number[];
  /** nats */
  readonly cost: number;
  /** typed over-range values without a frame that says so */
  readonly unexplained: number;
}

/** One way to say over-range is enough for a meter: another beside one that was seen is far-fetched (nats). */
const anotherCost = 5;
/** A level that stands still on just the number past the last display count is seldom a measured one (nats). */
const fullEvidence = 3;
/** All bits set is a last count below nought, or what firmware sends for none: it seldom stands for long (nats). */
const onesCost = 2.5;
const longStay = 4;

function stays(raw: Float64Array, value: number): boolean {
  let run = 0;
  for (const x of raw) {
    run = x === value ? run + 1 : 0;
    if (run >= longStay) return true;
  }
  return false;
}

/** Nats against an end code that comes beside nought alone, for a moment or again and again: there a signed number goes under it. */
const wrapCost = 4;
const besideNought = 10;

function wrapsUnderNought(raw: Float64Array, code: number): boolean {
  const near = (x: number) => x <= besideNought || x >= code - besideNought;
  let comes = 0;
  for (let i = 0; i < raw.length; i++) {
    if (raw[i] !== code) continue;
    if (raw[i - 1] !== code) comes++;
    if (!near(raw[i - 1] ?? code) || !near(raw[i + 1] ?? code)) return false;
  }
  return comes > 1 || !stays(raw, code);
}

/** What an over-range nobody can see costs. */
const unexplainedCost = 8;

/**
 * @param raw by frame, as the coding reads it; NaN or Infinity: no number stands there
 * @param matched for each typed number the frames that show it: one of each must stay a number
 * @param windows for each typed over-range, the frames around it
 * @param topCodes raw numbers that the coding's own limits make special
 * @param fullCode the number that the display's counts are one short of, where the stream stops there
 */
export function overProposals(
  raw: Float64Array,
  bits: readonly BitTrack[],
  matched: readonly (readonly number[])[],
  windows: readonly (readonly number[])[],
  topCodes: readonly number[],
  fullCode: number | null,
): OverProposal[] {
  const typed = new Set(matched.flatMap((frames) => frames.map((frame) => raw[frame]!)));
  const codes = topCodes.filter((code) => raw.includes(code) && !typed.has(code));
  const says = (frame: number) => codes.includes(raw[frame]!) || !Number.isFinite(raw[frame]!);
  const open = windows.filter((frames) => !frames.some(says));
  const another = windows.length > open.length ? anotherCost : 0;
  const wraps = codes.some((code) => code > 0 && wrapsUnderNought(raw, code)) ? wrapCost : 0;
  const out: OverProposal[] = [
    { flags: [], codes, cost: unexplainedCost * open.length + wraps, unexplained: open.length },
  ];
  for (const track of bits) {
    for (const equals of [1, 0]) {
      const evidence = freezing(raw, track, equals, matched, open, says);
      if (evidence === null) continue;
      const missed = open.filter((frames) => !frames.some((frame) => track.values[frame] === equals)).length;
      const cost = 1.5 + another + unexplainedCost * missed - evidence + (equals ? 0 : 0.5) + track.busy + wraps;
      out.push({ flags: [flagOf(track, equals)], codes, cost, unexplained: missed });
    }
  }
  const special = (extra: readonly number[], cost: number): OverProposal => {
    const all = [...codes, ...extra];
    const untold = open.filter((frames) => !frames.some((frame) => all.includes(raw[frame]!))).length;
    return { flags: [], codes: all, cost: unexplainedCost * untold + cost + wraps, unexplained: untold };
  };
  if (fullCode !== null && !typed.has(fullCode) && !typed.has(-fullCode))
    out.push(special([fullCode, -fullCode], -fullEvidence));
  if (!typed.has(allOnes) && stays(raw, allOnes)) {
    const ones = special([allOnes], 0);
    out.push({ ...ones, cost: ones.cost + (ones.unexplained < open.length ? 0.5 : onesCost) });
  }
  const code = open.length > 0 ? commonCode(raw, typed, open) : null;
  if (code !== null) out.push({ flags: [], codes: [...codes, code], cost: 2 + wraps, unexplained: 0 });
  return out.sort((a, b) => a.cost - b.cost).slice(0, 3);
}

/**
 * Nats that a bit speaks of over-range: the number stands still at one same place in all its frames, at a top that no other
 * frame reaches or at nothing. A number that stays where it was when the bit came is held instead. null: it cannot be.
 */
function freezing(
  raw: Float64Array,
  track: BitTrack,
  equals: number,
  matched: readonly (readonly number[])[],
  open: readonly (readonly number[])[],
  says: (frame: number) => boolean,
): number | null {
  const up = (frame: number) => track.values[frame] === equals;
  const count = equals ? track.ones : raw.length - track.ones;
  if (count > 0.6 * raw.length || matched.some((frames) => frames.every(up))) return null;
  const stood = new Set<number>();
  let held = 0;
  let falls = 0;
  let edges = 0;
  let highest = 0;
  let lowest = Number.POSITIVE_INFINITY;
  let unset = true;
  for (let i = 0; i < raw.length; i++) {
    if (says(i)) continue;
    if (up(i)) {
      stood.add(Math.abs(raw[i]!));
      lowest = Math.min(lowest, Math.abs(raw[i]!));
      unset &&= raw[i] === allOnes;
    } else highest = Math.max(highest, Math.abs(raw[i]!));
    if (i === 0 || up(i) === up(i - 1)) continue;
    edges++;
    if (up(i) && raw[i] === raw[i - 1]) held++;
    else if (up(i) && raw[i] === 0) falls++;
  }
  const told = open.filter((frames) => frames.some(up)).length;
  if (told === 0 && (count < 2 || edges === 0)) return null;
  if (told === 0 && stood.size !== 1) {
    const outgrown = open.length === 0 && stood.size > 1 && lowest > highest;
    return outgrown ? -outgrownCost - seldom * (count / raw.length) : null;
  }
  const [still] = stood;
  const frozen =
    stood.size !== 1
      ? stood.size === 0
        ? 0
        : -2
      : stillEvidence(still!, highest, unset && count > steadyFrames * edges) +
        fallEvidence * Math.max(0, Math.min(mostFalls, falls - 1));
  const inside = open.flat();
  const share = inside.length > 0 ? inside.filter(up).length / inside.length : 0;
  return frozen - 4 * Math.min(2, held) + (told > 0 ? 2 * share : 0) - seldom * (count / raw.length);
}

/** A number larger than all others may be on another range, or past what the display shows while the converter goes on (nats). */
const outgrownCost = 2;

/** A last count that goes to and fro about nought stands for a frame or two; what is none, for longer (frames each edge). */
const steadyFrames = 2;
/** Two's complement of bytes that have every bit set. */
const allOnes = -1;

/** A number that stands still above all others, at nought or with all bits set, is none; elsewhere it may as well be one. */
const stillEvidence = (still: number, highest: number, unset: boolean): number =>
  still > highest || unset ? 4 : still === 0 ? 2.5 : -1;

/** Each time that the number falls to nothing as the bit comes, after the first. */
const fallEvidence = 1;
const mostFalls = 3;

/** Nats against a bit that would make the whole recording over-range: whoever teaches a meter measures what it can show. */
const seldom = 4;

/** A raw number that stands in every window of a typed over-range, and nowhere that a number was typed. */
function commonCode(
  raw: Float64Array,
  typed: ReadonlySet<number>,
  windows: readonly (readonly number[])[],
): number | null {
  const [first, ...rest] = windows;
  for (const frame of first ?? []) {
    const code = raw[frame]!;
    const everywhere = rest.every((frames) => frames.some((other) => raw[other] === code));
    const lasts = first!.filter((other) => raw[other] === code).length >= Math.min(2, first!.length);
    if (everywhere && lasts && !typed.has(code) && !(Math.abs(code) < Math.max(...[...typed].map(Math.abs))))
      return code;
  }
  return null;
}
