/**
 * A field of the frame that chooses the power of ten: learnt from what was typed, and carried on to states nobody typed by
 * the laws that firmware keeps. Which law holds, the stream may tell: a meter shows each value in its finest range that fits.
 */
import { disorder } from "./range-order.ts";
import type { Bits } from "./recipe.ts";
import type { PowerOption } from "./scale-search.ts";

export interface Field {
  readonly bits: Bits;
  /** by frame */
  readonly values: Uint8Array;
  /** the same for all fields that sort the frames alike, whatever they call the sorts */
  readonly sorting: string;
  /** the same for those whose states also follow each other alike, counted in their own lowest bit */
  readonly counting: string;
  readonly distinct: readonly number[];
  /** how often it changes from frame to frame */
  readonly turns: number;
  /** those of its bits that ever change */
  readonly living: number;
  /** nats: bits beside it that live too were cut off it */
  readonly ragged: number;
}

const mostStates = 10;

/** Bit groups of a byte that take a few different values and do not change with every frame. */
export function fields(frames: readonly Uint8Array[], taken: ReadonlySet<number>): Field[] {
  const length = Math.min(...frames.map((frame) => frame.length));
  const all = Array.from({ length }, (_, at) => at);
  return fieldsAt(all, frames, taken);
}

/** The same in some bytes only; a group takes in no bit that is taken, living or not. */
export function fieldsAt(
  places: readonly number[],
  frames: readonly Uint8Array[],
  taken: ReadonlySet<number>,
): Field[] {
  const out: Field[] = [];
  for (const at of places) {
    const alive = livingMask(frames, at, taken);
    if (alive === 0) continue;
    const seen = new Set<string>();
    for (let width = 8; width >= 1; width--) {
      for (let shift = 0; shift + width <= 8; shift++) {
        const mask = ((1 << width) - 1) << shift;
        if ((alive & mask) === 0 || overlaps(taken, at * 8 + shift, width)) continue;
        const field = fieldOf(frames, { at, shift, bits: width }, alive);
        // The same bits alive with more or fewer that stand still: the plainest cut is enough.
        const key = `${alive & mask}`;
        if (!field || seen.has(key)) continue;
        seen.add(key);
        out.push(field);
      }
    }
  }
  return out.sort((a, b) => a.ragged - b.ragged);
}

export function overlaps(taken: ReadonlySet<number>, from: number, bits: number): boolean {
  for (let bit = from; bit < from + bits; bit++) if (taken.has(bit)) return true;
  return false;
}

function sortingOf(values: Uint8Array): string {
  const names = new Map<number, number>();
  let key = "";
  for (const value of values) {
    if (!names.has(value)) names.set(value, names.size);
    key += String.fromCharCode(97 + names.get(value)!);
  }
  return key;
}

const countsOf = (values: Uint8Array, lowest: number): string =>
  [...new Set(values)].map((value) => (value - values[0]!) / lowest).join();

function livingMask(frames: readonly Uint8Array[], at: number, taken: ReadonlySet<number>): number {
  let ones = 0xff;
  let any = 0;
  for (const frame of frames) {
    ones &= frame[at]!;
    any |= frame[at]!;
  }
  let alive = any & ~ones;
  for (let bit = 0; bit < 8; bit++) if (taken.has(at * 8 + bit)) alive &= ~(1 << bit);
  return alive;
}

function fieldOf(frames: readonly Uint8Array[], bits: Bits, alive: number): Field | null {
  const mask = (1 << bits.bits) - 1;
  const values = new Uint8Array(frames.length);
  const distinct = new Set<number>();
  let turns = 0;
  for (let i = 0; i < frames.length; i++) {
    values[i] = (frames[i]![bits.at]! >> bits.shift) & mask;
    distinct.add(values[i]!);
    if (i > 0 && values[i] !== values[i - 1]) turns++;
    if (distinct.size > mostStates) return null;
  }
  if (distinct.size < 2 || turns > 0.25 * frames.length || passes(values)) return null;
  const above = bits.shift + bits.bits < 8 && ((alive >> (bits.shift + bits.bits)) & 1) === 1;
  const below = bits.shift > 0 && ((alive >> (bits.shift - 1)) & 1) === 1;
  const ragged = (above ? 2 : 0) + (below ? 1.5 : 0);
  const living = (alive >> bits.shift) & mask;
  const sorting = sortingOf(values);
  return {
    bits,
    values,
    sorting,
    counting: `${sorting} ${countsOf(values, living & -living)}`,
    distinct: [...distinct].sort((a, b) => a - b),
    turns,
    living,
    ragged,
  };
}

const mostPasses = 2;

/** Whether a state comes for one frame alone, there and back, again and again: ranges stay, or are passed on the way to another. */
function passes(values: Uint8Array): boolean {
  const visits = new Map<number, number>();
  const other = new Set<number>([values[0]!, values[values.length - 1]!]);
  for (let i = 1; i < values.length - 1; i++) {
    const [before, here, behind] = [values[i - 1]!, values[i]!, values[i + 1]!];
    if (before === behind && here !== before) visits.set(here, (visits.get(here) ?? 0) + 1);
    else other.add(here);
  }
  return [...visits].some(([state, times]) => times > mostPasses && !other.has(state));
}

/** Exponents by state, as far as the sightings tell; null where they contradict each other. */
export function learntExponents(
  field: Field,
  options: readonly (readonly PowerOption[])[],
): Map<number, number> | null {
  const known = new Map<number, number>();
  // A sighting with one single explanation settles its state before the others are asked.
  const order = options.filter((choices) => !choices.some(({ exponent }) => Number.isNaN(exponent)));
  order.sort((a, b) => a.length - b.length);
  for (const choices of order) {
    const agreeing = choices.some(({ frame, exponent }) => known.get(field.values[frame]!) === exponent);
    if (agreeing) continue;
    const fresh = choices.find(({ frame }) => !known.has(field.values[frame]!));
    if (!fresh) return null;
    known.set(field.values[fresh.frame]!, fresh.exponent);
  }
  return known;
}

export interface RangeTable {
  readonly exponents: ReadonlyMap<number, number>;
  /** states that came in the stream and are not in the table */
  readonly unknown: readonly number[];
  /** states carried on by a law */
  readonly inferred: readonly number[];
  /** nats: how far-fetched the law, and how the stream speaks against it */
  readonly cost: number;
  /** nats of these for values that stand out of the order of their ranges, where no unit has its part in it */
  readonly disorder: number;
}

interface Law {
  readonly place: (state: number) => number;
  readonly slope: number;
  readonly cost: number;
}

const signedByte = (value: number): number => (value > 127 ? value - 256 : value);

function lawsFor({ bits, distinct, living }: Field, ownPoint: boolean): Law[] {
  const slopes = ownPoint ? [3, -3] : [1, -1];
  // A range sent further up in its byte counts in steps of its own lowest bit, or all the same in ones.
  const lowest = living & -living;
  const plain = (state: number) => state;
  const places = lowest > 1 ? [(state: number) => state / lowest, plain] : [plain];
  if (bits.bits === 8 && living >= 128) places.push(signedByte);
  const laws: Law[] = places.flatMap((place, i) => slopes.map((slope) => ({ place, slope, cost: 0.5 * i })));
  // One bit a range: three states or more that each have one single bit are no accident.
  const one = (state: number) => state & living;
  if (distinct.length > 2 && distinct.every((state) => one(state) > 0 && (one(state) & (one(state) - 1)) === 0))
    laws.push(...slopes.map((slope) => ({ place: (state: number) => Math.log2(one(state)), slope, cost: -1.5 })));
  return laws;
}

/** That a field says outright how many decimals are shown, or the exponent itself, is no accident. */
function outspoken(field: Field, known: ReadonlyMap<number, number>, slope: number): number {
  const byte = field.bits.bits === 8 ? signedByte : (state: number) => state;
  // Figures are often sent as characters, 0 as 0x30.
  const place = (state: number) => (field.bits.bits === 8 && state >> 4 === 3 ? state & 0x0f : byte(state));
  const told = [...known].filter(([state, exponent]) => exponent !== 0 && place(state) * slope === exponent).length;
  if (told === 0 || told < [...known].filter(([, exponent]) => exponent !== 0).length) return 0;
  return [...known.keys()].some((state) => place(state) < 0) ? -6 : (field.bits.bits === 8 ? -3.5 : -2) - 0.5 * told;
}

/**
 * Tables that agree with what is known, the likeliest first; the last leaves untold states unknown.
 * @param sizes raw sizes by frame; NaN or Infinity where there is no number
 * @param ownPoint the number brings its decimal point along, so that only a prefix of its unit can stand beside it
 * @param oneUnit the table tells all that the value is multiplied with; elsewhere a unit does as well, and their order says nothing yet
 */
export function tablesFor(
  field: Field,
  known: ReadonlyMap<number, number>,
  sizes: Float64Array,
  ownPoint: boolean,
  oneUnit: boolean,
): RangeTable[] {
  const disorderOf = (exponents: ReadonlyMap<number, number>) =>
    oneUnit ? disorder(exponentsBy(field, exponents), sizes, ownPoint) : 0;
  const missing = field.distinct.filter((state) => !known.has(state));
  const points = [...known];
  const out: RangeTable[] = [];
  for (const { place, slope, cost } of lawsFor(field, ownPoint)) {
    const [state0, exponent0] = points[0]!;
    const law = (state: number) => exponent0 + slope * (place(state) - place(state0));
    if (points.some(([state, exponent]) => law(state) !== exponent)) continue;
    const exponents = new Map([...known, ...missing.map((state) => [state, law(state)] as const)]);
    if (!plausible([...exponents.values()]) || out.some((table) => same(table.exponents, exponents))) continue;
    const strays = disorderOf(exponents);
    const against =
      strays + outspoken(field, known, slope) + (ownPoint ? 0 : gapCost * leftOut([...exponents.values()]));
    out.push({ exponents, unknown: [], inferred: missing, cost: cost + against, disorder: strays });
  }
  const lawless = 1.2 * Math.max(0, known.size - 1) + 3 * missing.length;
  if (missing.length > 0 || out.length === 0) {
    const strays = disorderOf(known);
    out.push({ exponents: known, unknown: missing, inferred: [], cost: lawless + strays, disorder: strays });
  }
  return out.sort((a, b) => a.cost - b.cost);
}

/** Ranges of one meter lie within five decades, from microvolts up. */
const plausible = (exponents: readonly number[]): boolean =>
  Math.max(...exponents) - Math.min(...exponents) <= 5 &&
  exponents.every((exponent) => exponent >= -9 && exponent <= 3);

/** A meter's ranges follow each other by a decade, the first step from a milli unit perhaps by more (nats a decade). */
const gapCost = 1.5;

function leftOut(exponents: readonly number[]): number {
  const order = [...new Set(exponents)].sort((a, b) => a - b);
  return order.slice(1).reduce((sum, exponent, i) => sum + exponent - order[i]! - 1, 0);
}

const exponentsBy = (field: Field, exponents: ReadonlyMap<number, number>): Float64Array =>
  Float64Array.from(field.values, (state) => exponents.get(state) ?? Number.NaN);

const same = (a: ReadonlyMap<number, number>, b: ReadonlyMap<number, number>): boolean =>
  [...a].every(([state, exponent]) => b.get(state) === exponent);
