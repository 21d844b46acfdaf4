/**
 * Single bits that speak about the number: negative, over-range. Where nobody typed such a value the stream itself may tell:
 * a sign changes where the number passes nought or jumps, an over-range stands at one same top number.
 */
import type { Flag } from "./recipe.ts";

export interface BitTrack {
  readonly at: number;
  readonly shift: number;
  /** by frame, 0 or 1 */
  readonly values: Uint8Array;
  readonly ones: number;
}

/** All bits that change within a kind of frame; two that always go together stand once, the first in the frame. */
export function livingBits(frames: readonly Uint8Array[]): BitTrack[] {
  const length = Math.min(...frames.map((frame) => frame.length));
  const out: BitTrack[] = [];
  for (let at = 0; at < length; at++) {
    for (let shift = 0; shift < 8; shift++) {
      const values = Uint8Array.from(frames, (frame) => (frame[at]! >> shift) & 1);
      const ones = values.reduce((sum, bit) => sum + bit, 0);
      if (ones > 0 && ones < frames.length) out.push({ at, shift, values, ones });
    }
  }
  return out;
}

export const flagOf = (track: BitTrack, equals: number): Flag => ({
  at: track.at,
  shift: track.shift,
  bits: 1,
  equals,
});

export interface SignProposal {
  readonly flag: Flag | null;
  readonly cost: number;
  /** nobody typed a negative value, and this is what the stream suggests */
  readonly guessed: boolean;
}

/** A typed value that has frames to match it. */
export interface Match {
  readonly negative: boolean;
  readonly zero: boolean;
  readonly frames: readonly number[];
}

/**
 * @param sizes by frame, without a sign; NaN or Infinity where there is none
 * @param step size of one raw count, in the same measure
 */
export function signProposals(
  bits: readonly BitTrack[],
  matches: readonly Match[],
  sizes: Float64Array,
  step: number,
): SignProposal[] {
  const telling = matches.filter((match) => !match.zero);
  const place = Math.log(bits.length + 1);
  if (telling.some((match) => match.negative)) {
    const out: SignProposal[] = [];
    for (const track of bits) {
      for (const equals of [1, 0]) {
        const agrees = telling.every(({ negative, frames }) =>
          frames.some((f) => (track.values[f] === equals) === negative),
        );
        // What would make most of the recording negative is unlikely, and jumps of the sign in steady stretches more so.
        const cost = place + (equals ? 1 : 2.5) + 3 * Math.min(3, unlikelyTurns(track, sizes, step));
        if (agrees) out.push({ flag: flagOf(track, equals), cost, guessed: false });
      }
    }
    return out.sort((a, b) => a.cost - b.cost).slice(0, 6);
  }
  const guesses: SignProposal[] = [];
  for (const track of bits) {
    const strength = signStrength(track, sizes, step);
    if (strength === null) continue;
    for (const equals of [1, 0]) {
      const agrees = telling.every(({ frames }) => frames.some((f) => track.values[f] !== equals));
      if (agrees)
        guesses.push({ flag: flagOf(track, equals), cost: place + (equals ? 1 : 3) - strength, guessed: true });
    }
  }
  guesses.sort((a, b) => a.cost - b.cost);
  return [{ flag: null, cost: 0, guessed: false }, ...guesses.slice(0, 3)];
}

interface Turns {
  /** at nought, where only a sign has reason to turn */
  nearZero: number;
  withJump: number;
  unlikely: number;
}

function turnsOf(track: BitTrack, sizes: Float64Array, step: number): Turns {
  const turns: Turns = { nearZero: 0, withJump: 0, unlikely: 0 };
  const noise = Math.max(step, noiseOf(sizes));
  let last = -1;
  for (let i = 0; i < sizes.length; i++) {
    if (!(sizes[i]! < Number.POSITIVE_INFINITY)) continue;
    if (last >= 0 && track.values[i] !== track.values[last]) {
      const [before, after] = [sizes[last]!, sizes[i]!];
      if (Math.abs(after - before) > 8 * noise) turns.withJump++;
      else if (before + after <= 12 * noise) turns.nearZero++;
      else turns.unlikely++;
    }
    last = i;
  }
  return turns;
}

function noiseOf(sizes: Float64Array): number {
  const changes: number[] = [];
  for (let i = 1; i < sizes.length; i++) {
    const change = Math.abs(sizes[i]! - sizes[i - 1]!);
    if (change < Number.POSITIVE_INFINITY) changes.push(change);
  }
  changes.sort((a, b) => a - b);
  return changes[changes.length >> 1] ?? 0;
}

const unlikelyTurns = (track: BitTrack, sizes: Float64Array, step: number): number =>
  turnsOf(track, sizes, step).unlikely;

/** Nats that the stream speaks for a sign; null where it speaks against it. */
function signStrength(track: BitTrack, sizes: Float64Array, step: number): number | null {
  const { nearZero, withJump, unlikely } = turnsOf(track, sizes, step);
  if (unlikely > 0.1 * (nearZero + withJump) || nearZero + withJump === 0) return null;
  return Math.min(9, 1.5 * nearZero + 0.4 * withJump);
}

export interface OverProposal {
  readonly flags: readonly Flag[];
  readonly codes: readonly number[];
  readonly unreadable: boolean;
  readonly cost: number;
  /** typed over-range values without a frame that says so */
  readonly unexplained: number;
}

/**
 * @param raw by frame, as the coding reads it
 * @param matched frames that showed a typed number: none of them may count as over-range
 * @param windows for each typed over-range, the frames around it
 * @param topCodes raw numbers that the coding's own limits make special
 */
export function overRange(
  raw: Float64Array,
  bits: readonly BitTrack[],
  matched: ReadonlySet<number>,
  windows: readonly (readonly number[])[],
  topCodes: readonly number[],
): OverProposal {
  const codes = specialCodes(raw, topCodes, matched);
  const unreadable = unreadableRun(raw, windows);
  const says = (frame: number) => codes.includes(raw[frame]!) || !Number.isFinite(raw[frame]!);
  const open = windows.filter((frames) => !frames.some(says));
  const stuck = stuckFlags(raw, bits, matched, codes);
  if (open.length === 0) return { flags: stuck, codes, unreadable, cost: stuck.length > 0 ? 1 : 0, unexplained: 0 };
  const flag = commonFlag(bits, matched, open, raw);
  if (flag) return { flags: [flag], codes, unreadable, cost: 2, unexplained: 0 };
  const code = commonCode(raw, matched, open);
  if (code !== null) return { flags: stuck, codes: [...codes, code], unreadable, cost: 3, unexplained: 0 };
  return { flags: stuck, codes, unreadable, cost: 2, unexplained: open.length };
}

/** The coding's limits, where the stream goes to one of them and nobody typed it. */
function specialCodes(raw: Float64Array, topCodes: readonly number[], matched: ReadonlySet<number>): number[] {
  const typed = new Set([...matched].map((frame) => raw[frame]!));
  return topCodes.filter((code) => raw.includes(code) && !typed.has(code));
}

/** Figures that are none count as over-range where they last, or where somebody saw it; one alone was damaged. */
function unreadableRun(raw: Float64Array, windows: readonly (readonly number[])[]): boolean {
  for (let i = 1; i < raw.length; i++) if (Number.isNaN(raw[i]!) && Number.isNaN(raw[i - 1]!)) return true;
  return windows.some((frames) => frames.some((frame) => Number.isNaN(raw[frame]!)));
}

/** Bits that go up only while the number stands at one same top value, as a display does that says it is full. */
function stuckFlags(
  raw: Float64Array,
  bits: readonly BitTrack[],
  matched: ReadonlySet<number>,
  codes: readonly number[],
): Flag[] {
  const out: Flag[] = [];
  for (const track of bits) {
    for (const equals of [1, 0]) {
      const count = equals ? track.ones : raw.length - track.ones;
      if (count < 3 || count > 0.4 * raw.length || [...matched].some((frame) => track.values[frame] === equals))
        continue;
      if (standsAtTop(raw, track, equals, codes)) out.push(flagOf(track, equals));
    }
  }
  return out.slice(0, 1);
}

function standsAtTop(raw: Float64Array, track: BitTrack, equals: number, codes: readonly number[]): boolean {
  let top = Number.NaN;
  let highest = 0;
  for (let i = 0; i < raw.length; i++) {
    const size = Math.abs(raw[i]!);
    if (!Number.isFinite(size) || codes.includes(raw[i]!)) continue;
    if (track.values[i] !== equals) highest = Math.max(highest, size);
    else if (Number.isNaN(top)) top = size;
    else if (top !== size) return false;
  }
  return top > highest;
}

/** A bit that says the same in every window of a typed over-range and never in a frame whose number was typed. */
function commonFlag(
  bits: readonly BitTrack[],
  matched: ReadonlySet<number>,
  windows: readonly (readonly number[])[],
  raw: Float64Array,
): Flag | null {
  let best: { flag: Flag; score: number } | null = null;
  for (const track of bits) {
    for (const equals of [1, 0]) {
      const count = equals ? track.ones : raw.length - track.ones;
      if (count > 0.6 * raw.length || [...matched].some((frame) => track.values[frame] === equals)) continue;
      const says = (frame: number) => track.values[frame] === equals;
      if (!windows.every((frames) => frames.some(says))) continue;
      const inside = windows.flatMap((frames) => frames.filter(says)).length / windows.flat().length;
      const score = inside + (equals ? 0.1 : 0) + (sameNumber(raw, track, equals) ? 0.5 : 0);
      if (!best || score > best.score) best = { flag: flagOf(track, equals), score };
    }
  }
  return best?.flag ?? null;
}

function sameNumber(raw: Float64Array, track: BitTrack, equals: number): boolean {
  const numbers = new Set<number>();
  for (let i = 0; i < raw.length; i++) if (track.values[i] === equals) numbers.add(Math.abs(raw[i]!));
  return numbers.size <= 2;
}

/** A raw number that stands through every window of a typed over-range, larger than any that was typed. */
function commonCode(
  raw: Float64Array,
  matched: ReadonlySet<number>,
  windows: readonly (readonly number[])[],
): number | null {
  const highest = Math.max(0, ...[...matched].map((frame) => Math.abs(raw[frame]!)));
  const [first, ...rest] = windows;
  for (const frame of first ?? []) {
    const code = raw[frame]!;
    const everywhere = rest.every((frames) => frames.some((other) => raw[other] === code));
    const lasts = first!.filter((other) => raw[other] === code).length >= Math.min(2, first!.length);
    if (everywhere && lasts && Math.abs(code) > highest) return code;
  }
  return null;
}
