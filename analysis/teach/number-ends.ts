/**
 * Where a whole number ends: bits beside a coding that live as its own do are more of the number, and a coding that leaves
 * them out would read on where they tell of something else.
 */
import { checkBits } from "./coding-bits.ts";
import type { KindProposal } from "./frame-kind-search.ts";
import type { IntegerCoding, NumberCoding } from "./number-coding.ts";

/** By byte the lower bits that take every value, or a lowest one that is thrown: a number that ends above them would go on there. */
export function livelyEnds({ frames }: KindProposal, length: number): number[] {
  return Array.from({ length }, (_, at) => {
    const values = new Set(frames.map((frame) => frame[at]!));
    let bits = thrown(frames.map((frame) => frame[at]! & 1)) ? 1 : 0;
    for (let width = 2; width < 8; width++) {
      const rest = new Set([...values].map((value) => value & ((1 << width) - 1)));
      if (rest.size > 0.8 * Math.min(2 ** width, frames.length / 4)) bits = width;
    }
    return bits;
  });
}

/** One bit that turns as if thrown: neither a state, that stays, nor a beat, that turns with every frame (shares are our choice). */
function thrown(bits: readonly number[]): boolean {
  const ones = bits.filter((bit) => bit === 1).length / bits.length;
  const turns = bits.filter((bit, i) => i > 0 && bit !== bits[i - 1]).length / bits.length;
  return ones > 0.25 && ones < 0.75 && turns > 0.3 && turns < 0.7;
}

/** Whether it leaves out bits of its lowest byte that live as its own do. */
export function endsInside({ pieces }: IntegerCoding, ends: readonly number[]): boolean {
  const [at, shift] = pieces.at(-1)!;
  return shift > 0 && ends[at]! >= shift;
}

/** Whether a byte's two upper bits turn as if thrown: no state, no clock and no second number does so in its highest bits. */
export function livelyTops({ kind, frames }: KindProposal, length: number): boolean[] {
  const checked = checkBits(kind);
  return Array.from({ length }, (_, at) => {
    if (checked.has(at * 8 + 7)) return false;
    const counts = [0, 0, 0, 0];
    let turns = 0;
    for (const [i, frame] of frames.entries()) {
      counts[frame[at]! >> 6]!++;
      if (i > 0 && frame[at]! >> 6 !== frames[i - 1]![at]! >> 6) turns++;
    }
    return turns > thrownShare * frames.length && Math.min(...counts) > 0.1 * frames.length;
  });
}

/** Of two bits thrown anew with each frame three turns in four change something; a number that rests has fewer (our choice). */
const thrownShare = 0.5;

/** Whether the byte below its lowest, in its own order, lives from the top: then it is more of the number. */
export function goesOn({ pieces }: IntegerCoding, tops: readonly boolean[]): boolean {
  const [at, shift, width] = pieces.at(-1)!;
  const [above] = pieces.at(-2) ?? [];
  if (above === undefined || shift > 0 || width < 8 || Math.abs(at - above) !== 1) return false;
  return tops[2 * at - above] === true;
}

/** A number that has outgrown what it was cut to disagrees with the byte above it: over-range does for a while (our choice). */
const outgrownShare = 0.3;

/**
 * Whether the byte above a two's complement number goes one down with its minus and up again: then it is the number's own,
 * be it the sign spread upwards or the top of a number that counts from some middle.
 */
export function cutShort(coding: NumberCoding, { frames }: KindProposal): boolean {
  if (coding.coding !== "integer" || coding.form !== "twos-complement") return false;
  const [top, next] = coding.pieces;
  if (!next || top![2] !== 8 || next[2] !== 8) return false;
  const above = 2 * top![0] - next[0];
  const isMinus = (frame: Uint8Array) => frame[top![0]]! >= 128;
  const plus = frames.filter((frame) => !isMinus(frame));
  const minus = frames.filter(isMinus);
  if (plus.length === 0 || minus.length === 0 || above < 0) return false;
  const usual = plus[plus.length >> 1]![above]!;
  const agreeing = minus.filter((frame) => frame[above] === ((usual - 1) & 0xff)).length;
  if (borrows(frames, top![0], above, usual)) return true;
  const unlike = plus.filter((frame) => frame[above] !== usual).length + minus.length - agreeing;
  return agreeing > 0.5 * minus.length && unlike < outgrownShare * frames.length;
}

const fewestBorrows = 4;

/** Many bits of the byte above turn at once, each time to one less and under a minus: no state does so, a borrow does. */
function borrows(frames: readonly Uint8Array[], top: number, above: number, usual: number): boolean {
  if ((usual & 0x07) !== 0) return false;
  const less = frames.filter((frame) => frame[above] !== usual);
  return (
    less.length >= fewestBorrows && less.every((frame) => frame[above] === ((usual - 1) & 0xff) && frame[top]! >= 128)
  );
}
