/**
 * A prefix of the unit that nobody typed: a display that goes over to mV or mA moves its point as well, and a bit beside the
 * field that tells the point says which unit is meant.
 */
import type { Case, Scaled } from "./completion.ts";
import type { BitTrack } from "./flag-search.ts";
import type { MeterUnit, Recipe } from "./recipe.ts";

/** Nats for a second unit that only the stream suggests. */
const untypedUnitCost = 3;

/**
 * @param typed the unit of all that was typed
 * @param matched for each typed value the frames that show it
 * @param isFree whether a bit has no other part
 */
export function prefixUnits(
  { survivor, related }: Case,
  { range }: Scaled,
  typed: MeterUnit,
  matched: readonly (readonly number[])[],
  isFree: (track: BitTrack) => boolean,
): { unit: Recipe["unit"]; cost: number }[] {
  const { coding } = survivor.coding;
  if (range === null || (coding !== "integer" && coding !== "digits")) return [];
  const turning = onceEach(related.filter(isFree));
  return turning.flatMap(({ at, shift, values, busy }) => {
    const states = new Set(matched.map((frames) => values[frames[0]!]!));
    if (states.size !== 1) return [];
    const own = states.has(1) ? 1 : 0;
    const units = { [String(own)]: typed, [String(1 - own)]: otherPrefix[typed] };
    const unit = { field: { at, shift, bits: 1 }, units };
    return [{ unit, cost: Math.log(turning.length) + untypedUnitCost + busy }];
  });
}

const otherPrefix: Record<MeterUnit, MeterUnit> = { V: "mV", mV: "V", A: "mA", mA: "A" };

/** Bits that always turn together tell the same. */
function onceEach(bits: readonly BitTrack[]): BitTrack[] {
  const seen = new Set<string>();
  return bits.filter(({ turning }) => !seen.has(turning) && seen.add(turning));
}
