/** Bits that may speak about the number (negative, over-range, held), and which of them turn as it jumps. */
import type { Flag } from "./recipe.ts";
import { levelsOf } from "./stream-evidence.ts";

export interface BitTrack {
  readonly at: number;
  readonly shift: number;
  /** by frame, 0 or 1 */
  readonly values: Uint8Array;
  readonly ones: number;
  /** nats against its being a flag: its byte takes many values, as bar graphs and counters do */
  readonly busy: number;
  /** the same for bits that turn together, the same way up or not */
  readonly turning: string;
  /** the bit in a printed minus, where its byte is never anything but that, a plus or a blank; else null */
  readonly minus: number | null;
}

const minusSign = 0x2d;
const signCharacters = [minusSign, 0x2b, 0x20];

/** Flags that share a byte make few patterns: so many are no sign of anything else (our choice). */
const flagPatterns = 6;

/** All bits that change within a kind of frame, but not with every frame. */
export function livingBits(frames: readonly Uint8Array[], taken: ReadonlySet<number>): BitTrack[] {
  const length = Math.min(...frames.map((frame) => frame.length));
  const out: BitTrack[] = [];
  for (let at = 0; at < length; at++) {
    const seen = new Set(frames.map((frame) => frame[at]!));
    const busy = Math.max(0, Math.log(seen.size / flagPatterns));
    const signs = seen.has(minusSign) && [...seen].every((byte) => signCharacters.includes(byte));
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
      if (ones > 0 && ones < frames.length && turns < 0.45 * frames.length)
        out.push({
          at,
          shift,
          values,
          ones,
          busy,
          turning: turningOf(values),
          minus: signs ? (minusSign >> shift) & 1 : null,
        });
    }
  }
  return out;
}

const turningOf = (values: Uint8Array): string => values.map((value) => value ^ values[0]!).join("");

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
