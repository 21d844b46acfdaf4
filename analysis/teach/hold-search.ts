/** The bit of a display that is held: while it is up the number stands still, whatever the probes see. */
import { type BitTrack, flagOf } from "./flag-search.ts";
import type { Flag } from "./recipe.ts";

/** The bit that goes up only while the number stands quite still where it was, twice at least; null where none does. */
export function holdFlag(raw: Float64Array, bits: readonly BitTrack[], lively: boolean): Flag | null {
  if (!lively) return null;
  for (const track of bits) {
    for (const equals of [1, 0]) {
      const count = equals ? track.ones : raw.length - track.ones;
      if (count >= 4 && freezes(track, equals, raw)) return flagOf(track, equals);
    }
  }
  return null;
}

/**
 * Whether a bit may be the hold's, either way round: nothing moves while it is up, and it comes without a jump, or where
 * the number else moves so often that its standing still is no chance.
 */
export const holds = (track: BitTrack, raw: Float64Array): boolean =>
  [1, 0].some((up) => standsStill(track, up, raw) && !dropsToNothing(track, up, raw));

const standsStill = (track: BitTrack, up: number, raw: Float64Array): boolean =>
  freezes(track, up, raw) || frozen(track, up, raw);

/** Whether the number falls to nothing with the bit and stays there: what is sent so is no reading, or another is meant. */
export const emptiesNumber = (track: BitTrack, raw: Float64Array): boolean =>
  [1, 0].some((up) => standsStill(track, up, raw) && dropsToNothing(track, up, raw));

/** A hold keeps what it finds: whatever takes the number to nothing each time it comes is something else. */
function dropsToNothing({ values }: BitTrack, equals: number, raw: Float64Array): boolean {
  let drops = 0;
  for (let i = 1; i < raw.length; i++) {
    if (values[i] !== equals || values[i - 1] === equals) continue;
    if (raw[i] !== 0) return false;
    if (raw[i - 1] !== 0) drops++;
  }
  return drops > 0;
}

function freezes({ values, ones }: BitTrack, equals: number, raw: Float64Array): boolean {
  const count = equals ? ones : raw.length - ones;
  if (count < 2 || count > 0.5 * raw.length) return false;
  for (let i = 1; i < raw.length; i++) if (values[i] === equals && raw[i] !== raw[i - 1]) return false;
  return true;
}

const hardlyChance = 0.01;

function frozen({ values, ones }: BitTrack, equals: number, raw: Float64Array): boolean {
  if ((equals ? ones : raw.length - ones) > 0.5 * raw.length) return false;
  let stood = 0;
  let free = 0;
  let moved = 0;
  for (let i = 1; i < raw.length; i++) {
    if (values[i] === equals) {
      if (values[i - 1] !== equals) continue;
      if (raw[i] !== raw[i - 1]) return false;
      stood++;
    } else {
      free++;
      if (raw[i] !== raw[i - 1]) moved++;
    }
  }
  return (1 - moved / Math.max(1, free)) ** stood < hardlyChance;
}
