/**
 * A field of the frame that chooses the power of ten: learnt from the sightings, and carried on to states nobody typed
 * where a simple law and the ranges' own order agree. A meter picks its finest range that fits, so that ranges do not overlap.
 */
import type { Bits } from "./recipe.ts";

export interface Field {
  readonly bits: Bits;
  /** by frame */
  readonly values: Uint8Array;
  readonly distinct: readonly number[];
}

const mostStates = 12;

/** All bit groups that take a few different values, one for each way of sorting the frames; narrow ones first. */
export function fields(frames: readonly Uint8Array[], taken: ReadonlySet<number>): Field[] {
  const length = Math.min(...frames.map((frame) => frame.length));
  const seen = new Set<string>();
  const out: Field[] = [];
  for (let width = 1; width <= 8; width++) {
    for (let at = 0; at < length; at++) {
      for (let shift = 0; shift + width <= 8; shift++) {
        const field = fieldOf(frames, { at, shift, bits: width }, taken);
        if (!field) continue;
        const key = partitionKey(field.values);
        if (seen.has(key)) continue;
        seen.add(key);
        out.push(field);
      }
    }
  }
  return out;
}

function fieldOf(frames: readonly Uint8Array[], bits: Bits, taken: ReadonlySet<number>): Field | null {
  for (let bit = bits.shift; bit < bits.shift + bits.bits; bit++) if (taken.has(bits.at * 8 + bit)) return null;
  const mask = (1 << bits.bits) - 1;
  const values = new Uint8Array(frames.length);
  const distinct = new Set<number>();
  for (let i = 0; i < frames.length; i++) {
    values[i] = (frames[i]![bits.at]! >> bits.shift) & mask;
    distinct.add(values[i]!);
    if (distinct.size > mostStates) return null;
  }
  return distinct.size > 1 ? { bits, values, distinct: [...distinct].sort((a, b) => a - b) } : null;
}

/** Equal for two fields that sort the frames alike. */
function partitionKey(values: Uint8Array): string {
  const names = new Map<number, number>();
  let key = "";
  for (const value of values) {
    let name = names.get(value);
    if (name === undefined) {
      name = names.size;
      names.set(value, name);
    }
    key += String.fromCharCode(97 + name);
  }
  return key;
}

/** Exponents by state, as far as the sightings tell; null where they contradict each other. */
export function learntExponents(
  field: Field,
  options: readonly (readonly { frame: number; exponent: number }[])[],
): Map<number, number> | null {
  const known = new Map<number, number>();
  // A sighting with one single explanation settles its state before the others are asked.
  const order = [...options].sort((a, b) => a.length - b.length);
  for (const choices of order) {
    const agreeing = choices.find(
      ({ frame, exponent }) => Number.isNaN(exponent) || known.get(field.values[frame]!) === exponent,
    );
    if (agreeing) continue;
    const fresh = choices.find(({ frame }) => !known.has(field.values[frame]!));
    if (!fresh) return null;
    known.set(field.values[fresh.frame]!, fresh.exponent);
  }
  return known;
}

export interface RangeTable {
  readonly exponents: Map<number, number>;
  /** states that came in the stream and could not be resolved */
  readonly unknown: readonly number[];
  /** states carried on by the law */
  readonly inferred: readonly number[];
}

const signedByte = (value: number): number => (value > 127 ? value - 256 : value);

/**
 * Carries the table on to states that were not typed.
 * @param sizes raw sizes by frame; NaN or Infinity where there is no number
 * @param ownPoint the number brings its decimal point along, so that only a prefix of its unit can stand beside it
 */
export function carryOn(
  field: Field,
  known: ReadonlyMap<number, number>,
  sizes: Float64Array,
  ownPoint: boolean,
): RangeTable {
  const missing = field.distinct.filter((state) => !known.has(state));
  if (missing.length === 0) return { exponents: new Map(known), unknown: [], inferred: [] };
  for (const law of laws(field, known, ownPoint ? [3, -3] : [1, -1])) {
    const exponents = new Map(known);
    for (const state of missing) exponents.set(state, law(state));
    if (tiles(field, exponents, sizes, ownPoint)) return { exponents, unknown: [], inferred: missing };
  }
  return { exponents: new Map(known), unknown: missing, inferred: [] };
}

/** Exponents that rise or fall evenly with the field; two known states fix which way. */
function laws(
  field: Field,
  known: ReadonlyMap<number, number>,
  slopes: readonly number[],
): ((state: number) => number)[] {
  const scale = field.bits.bits === 8 ? signedByte : (value: number) => value;
  const points = [...known].map(([state, exponent]) => [scale(state), exponent] as const);
  const first = points[0];
  if (!first) return [];
  const out: ((state: number) => number)[] = [];
  for (const slope of slopes) {
    if (points.every(([state, exponent]) => exponent === first[1] + slope * (state - first[0]))) {
      out.push((state) => first[1] + slope * (scale(state) - first[0]));
    }
  }
  return out;
}

/** Share of the frames that may lie beside their range: what settles between two. */
const strayShare = 0.01;

/** Whether the ranges lie in order: see `strays`. */
export function tiles(
  field: Field,
  exponents: ReadonlyMap<number, number>,
  sizes: Float64Array,
  ownPoint: boolean,
): boolean {
  return strays(field, exponents, sizes, ownPoint) <= Math.max(1, strayShare * sizes.length);
}

/**
 * Frames that the meter would have shown on a finer range, had it been as the table says: the value would have fitted there.
 * A number with its own point tells no counts; there what the finer state held is the measure.
 */
function strays(field: Field, exponents: ReadonlyMap<number, number>, sizes: Float64Array, ownPoint: boolean): number {
  const order = [...new Set(exponents.values())].sort((a, b) => a - b);
  const fullest = fullestCounts(field, exponents, sizes, ownPoint);
  let count = 0;
  for (let i = 0; i < sizes.length; i++) {
    const exponent = exponents.get(field.values[i]!);
    if (exponent === undefined || !(sizes[i]! < Number.POSITIVE_INFINITY)) continue;
    const finer = order[order.indexOf(exponent) - 1];
    if (finer !== undefined && sizes[i]! * 10 ** exponent < 0.8 * (fullest.get(finer) ?? 0)) count++;
  }
  return count;
}

/** What each range can hold, in the unit of the table: as many counts as any range ever showed; nearly the most of its own where counts are not known. */
function fullestCounts(
  field: Field,
  exponents: ReadonlyMap<number, number>,
  sizes: Float64Array,
  ownPoint: boolean,
): Map<number, number> {
  const own = new Map<number, number[]>();
  let most = 0;
  for (let i = 0; i < sizes.length; i++) {
    const exponent = exponents.get(field.values[i]!);
    const size = sizes[i]!;
    if (exponent === undefined || !(size < Number.POSITIVE_INFINITY)) continue;
    most = Math.max(most, size);
    const list = own.get(exponent) ?? [];
    list.push(size);
    own.set(exponent, list);
  }
  return new Map(
    [...own].map(([exponent, list]) => {
      const high = list.sort((a, b) => a - b)[Math.floor((list.length - 1) * 0.98)]!;
      return [exponent, (ownPoint ? high : most) * 10 ** exponent];
    }),
  );
}
