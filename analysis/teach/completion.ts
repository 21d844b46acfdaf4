/**
 * A coding with its scale made whole: over-range, sign and unit in every way that does not contradict what was typed, and
 * what the whole stream then says of it.
 */
import { assemble, type Parts, unitsFor } from "./assemble.ts";
import type { BitTrack } from "./flag-search.ts";
import { fullCount } from "./full-count.ts";
import type { NumberCoding } from "./number-coding.ts";
import type { Survivor } from "./number-search.ts";
import { type OverProposal, overProposals } from "./over-search.ts";
import { prefixUnits } from "./prefix-search.ts";
import { disorder } from "./range-order.ts";
import type { Field, RangeTable } from "./range-search.ts";
import { bitsOf, type MeterUnit, type Recipe, times } from "./recipe.ts";
import type { Fit } from "./scale-search.ts";
import type { Scene } from "./scene.ts";
import type { Domain, Sighting } from "./sighting.ts";
import { ownSignCost, type SignProposal, signProposals } from "./sign-search.ts";
import { excess, levelsOf, unsteadiness } from "./stream-evidence.ts";
import { isMilli } from "./teach-input.ts";
import { countSize, inRange, isAt, isUsed, withoutPart } from "./unused-bits.ts";
import { inBase } from "./values-in-base.ts";

export interface Hypothesis {
  /** put together when it is asked for: few are */
  readonly recipe: () => Recipe;
  /** nats by what they are for: how far-fetched each part is, how the whole stream reads, what it leaves without a part */
  readonly costs: Readonly<
    Record<"frames" | "number" | "scale" | "overRange" | "sign" | "unit" | "stream" | "idle", number>
  >;
  /** nats, all of these */
  readonly cost: number;
  /** nats: how well it tells what was typed */
  readonly logLikelihood: number;
  /** share by which the factor may be off */
  readonly looseness: number;
  /** how its number came by its sign */
  readonly sign: "written" | "seen" | "never seen";
  /** ranges came in the stream that nobody typed: their powers of ten are only carried on */
  readonly untoldRanges: boolean;
  /** ranges came in the stream, and stayed, that nobody typed and no law tells: their values are not read */
  readonly unreadRanges: boolean;
  /** typed over-range values that no frame shows */
  readonly overUnexplained: number;
  /** when the frames had state bits as they had at no typed value; `beyond`: with numbers larger than all others */
  readonly untested: { readonly seconds: number; readonly beyond: boolean } | null;
}

/** A coding with its way to the value: one factor, or a table of powers that a field chooses. */
export interface Scaled {
  readonly fit: Fit;
  readonly range: { field: Field; table: RangeTable } | null;
  /** nats, the fit's own included */
  readonly cost: number;
}
export interface Case {
  readonly scene: Scene;
  readonly survivor: Survivor;
  readonly seen: readonly Sighting[];
  readonly domain: Domain;
  readonly raw: Float64Array;
  readonly own: ReadonlySet<number>;
  /** bytes beside the number that only repeat it */
  readonly repeating: ReadonlySet<number>;
  /** living bits beside it in other bytes */
  readonly bits: readonly BitTrack[];
  /** those of them that may be a hold's */
  readonly held: ReadonlySet<BitTrack>;
  /** those of them that turn as the number jumps */
  readonly related: readonly BitTrack[];
}
export function finish(given: Case, scaled: Scaled): Hypothesis[] {
  const { scene, survivor, seen, raw } = given;
  const sizes = scaledSeries(raw, scaled);
  const matched = matchedFrames(seen, sizes, !survivor.signed);
  if (matched.some((frames) => frames.length === 0)) return [];
  const bits = given.bits.filter((track) => !inRange(track, scaled));
  const codes = topCodes(survivor.coding);
  const full = fullCount(raw, countSize(scaled, seen), codes);
  return overProposals(raw, bits, matched, scene.overWindows, codes, full).flatMap((over) => {
    const clean = withoutOver(sizes, raw, over, bits);
    const others = bits.filter((track) => !over.flags.some((flag) => isAt(track, flag)));
    return signsFor(given, scaled, clean, others, matched)
      .filter(({ flag }) => flag === null || !isRange(others.find((track) => isAt(track, flag))!, scaled))
      .flatMap((sign) => weighed(given, scaled, clean, over, sign, matched, others));
  });
}

function scaledSeries(raw: Float64Array, { fit, range }: Scaled): Float64Array {
  return raw.map((x, i) => {
    const exponent = range ? range.table.exponents.get(range.field.values[i]!) : 0;
    return exponent === undefined ? Number.NaN : times(x - fit.zero, fit.factor, exponent);
  });
}

/** For each sighting the frames that show what was typed. */
function matchedFrames(seen: readonly Sighting[], values: Float64Array, sizeOnly: boolean): number[][] {
  return seen.map((sighting) => {
    const wanted = sizeOnly ? Math.abs(sighting.value) : sighting.value;
    return sighting.frames.filter(
      (frame) => Math.abs((sizeOnly ? Math.abs(values[frame]!) : values[frame]!) - wanted) <= sighting.half * 1.02,
    );
  });
}

/** A plus and a minus differ in several bits: what turns with the sign each time is the sign again, and no range. */
const isRange = ({ values }: BitTrack, { range }: Scaled): boolean =>
  range !== null &&
  range.field.distinct.length === 2 &&
  values.every((value, i) => (value === values[0]) === (range.field.values[i] === range.field.values[0]));

function withoutOver(
  sizes: Float64Array,
  raw: Float64Array,
  over: OverProposal,
  bits: readonly BitTrack[],
): Float64Array {
  const flags = over.flags.map((flag) => ({
    equals: flag.equals,
    track: bits.find((track) => isAt(track, flag))!,
  }));
  return sizes.map((size, i) =>
    over.codes.includes(raw[i]!) || flags.some(({ equals, track }) => track.values[i] === equals) ? Number.NaN : size,
  );
}

/** Smallest change that counts: one of the number's own steps, or of the display's where those are finer. */
function stepOf(coding: NumberCoding, { fit, range }: Scaled, seen: readonly Sighting[]): number {
  const shown = 2 * Math.min(...seen.map(({ half }) => half));
  if (coding.coding !== "integer" && coding.coding !== "digits") return shown;
  const exponents = range ? [...range.table.exponents.values()] : [0];
  return Math.max(fit.factor * 10 ** Math.min(...exponents), shown);
}

/** A zero that no programmer would choose, as half of what the bytes hold is. */
const countsFromAnywhere = ({ fit }: Scaled): boolean =>
  fit.zero !== 0 && !(fit.zero > 255 && Number.isInteger(Math.log2(fit.zero)));

function signsFor(
  { scene, survivor, seen, held }: Case,
  scaled: Scaled,
  clean: Float64Array,
  bits: readonly BitTrack[],
  matched: readonly number[][],
): SignProposal[] {
  if (survivor.signed) {
    const cost = ownSignCost(clean, levelsOf(clean.map(Math.abs), stepOf(survivor.coding, scaled, seen)));
    // What is counted from some number passes nought there wherever it is: that speaks for none.
    return [{ flag: null, cost: countsFromAnywhere(scaled) ? Math.max(0, cost) : cost }];
  }
  const matches = seen.map(({ value, half }, i) => ({
    negative: value < 0,
    zero: Math.abs(value) <= half,
    frames: matched[i]!,
  }));
  if (scene.kind.text) return matches.some((match) => match.negative && !match.zero) ? [] : [{ flag: null, cost: 0 }];
  const sizes = clean.map(Math.abs);
  return signProposals(bits, matches, sizes, levelsOf(sizes, stepOf(survivor.coding, scaled, seen)), held);
}

function weighed(
  given: Case,
  scaled: Scaled,
  clean: Float64Array,
  over: OverProposal,
  sign: SignProposal,
  matched: readonly number[][],
  bits: readonly BitTrack[],
): Hypothesis[] {
  const { scene, survivor, seen, domain } = given;
  const values = sign.flag ? signedBy(clean, sign, given.scene.bits) : clean;
  const parts: Parts = { ...given, scaled: { fit: scaled.fit, range: scaled.range }, over, sign, bits, clean };
  const units = unitsFor(scene, seen, matched, domain, survivor);
  const [told] = units;
  const prefixes =
    told && typeof told.unit === "string" && told.unit !== "written"
      ? prefixUnits(given, scaled, told.unit, matched, (track) => !isUsed(track, { given, scaled, over, sign }))
      : [];
  return [...units, ...prefixes].map(({ unit, cost: unitCost }) => {
    const volts = inBase(values, scene, unit);
    const finest = stepOf(survivor.coding, scaled, seen) * (volts.milli ? 1e-3 : 1);
    // How a flag turns the sign is weighed where it is sought; a number that runs over shows in its own.
    const sized = survivor.signed ? volts.values : volts.values.map(Math.abs);
    const stream =
      unsteadiness(sized, finest) +
      excess(volts.values, scene.typedMost) +
      unreadable(given.raw) +
      unreadableCost * volts.untold;
    const idle = withoutPart({ given, scaled, over, sign, unit, values, matched });
    const costs = {
      frames: scene.kind.cost,
      number: survivor.cost,
      scale: scaled.cost + orderedByUnit(given, scaled, unit, clean),
      overRange: over.cost,
      sign: sign.cost,
      unit: unitCost,
      stream,
      idle: idle.cost,
    };
    return {
      recipe: () => assemble(parts, unit),
      costs,
      cost: Object.values(costs).reduce((sum, cost) => sum + cost, 0),
      logLikelihood: likelihood(seen, values),
      looseness: scaled.fit.looseness,
      sign: signKnown(survivor, sign, values),
      untoldRanges: (scaled.range?.table.inferred.length ?? 0) > 0 || prefixes.some((prefix) => prefix.unit === unit),
      unreadRanges: scaled.range !== null && stayUnread(scaled.range),
      overUnexplained: over.unexplained,
      untested: idle.frame === null ? null : { seconds: scene.kind.seconds[idle.frame]!, beyond: idle.beyond },
    };
  });
}

/** Nats by which the order of the ranges is another where a field of the frame tells the prefix of the unit. */
function orderedByUnit(
  { scene, survivor, raw }: Case,
  { range }: Scaled,
  unit: Recipe["unit"],
  clean: Float64Array,
): number {
  if (range === null || typeof unit === "string") return 0;
  const { field, table } = range;
  const exponents = raw.map((_, i) => {
    const told = unit.units[String(bitsOf(unit.field, scene.kind.frames[i]!))];
    return told === undefined ? Number.NaN : (table.exponents.get(field.values[i]!) ?? Number.NaN) + prefixPower(told);
  });
  const sizes = raw.map((x, i) => (Number.isFinite(clean[i]!) ? Math.abs(x) : Number.NaN));
  return disorder(exponents, sizes, survivor.coding.coding === "segments") - table.disorder;
}

const prefixPower = (unit: MeterUnit): number => (isMilli(unit) ? -3 : 0);

/** A state that lasts is a range; damage and what is passed on the way to another are not (frames, our choice). */
const lastingFrames = 4;

function stayUnread({ field: { values }, table: { unknown } }: NonNullable<Scaled["range"]>): boolean {
  let stayed = 0;
  for (let i = 0; i < values.length; i++) {
    stayed = !unknown.includes(values[i]!) ? 0 : values[i] === values[i - 1] ? stayed + 1 : 1;
    if (stayed >= lastingFrames) return true;
  }
  return false;
}

/** Figures that are none may mean over-range, but not for most of a recording (nats for all of it). */
const unreadableCost = 15;
const usuallyOver = 0.2;
const unreadable = (raw: Float64Array): number =>
  unreadableCost * Math.max(0, raw.filter(Number.isNaN).length / raw.length - usuallyOver);

function signedBy(sizes: Float64Array, { flag }: SignProposal, bits: readonly BitTrack[]): Float64Array {
  const track = bits.find((one) => isAt(one, flag!))!;
  return sizes.map((size, i) => (track.values[i] === flag!.equals ? -size : size));
}

/** Floats, glasses with a minus and printed numbers say their sign themselves; elsewhere a negative number must have been seen. */
function signKnown({ coding }: Survivor, { flag }: SignProposal, values: Float64Array): Hypothesis["sign"] {
  if (coding.coding === "float" || coding.coding === "text") return "written";
  return flag !== null || values.some((value) => value < 0) ? "seen" : "never seen";
}

/** Share of typed moments at which each value stood: of several that the display showed on the way, any may have been typed. */
function likelihood(seen: readonly Sighting[], values: Float64Array): number {
  let sum = 0;
  for (const { frames, half } of seen)
    sum -= Math.log(new Set(frames.map((frame) => Math.round(values[frame]! / (2 * half)))).size);
  return sum;
}

/** Codes at the ends of an integer, which firmware sends where no number fits. */
export function topCodes(coding: NumberCoding): number[] {
  if (coding.coding !== "integer") return [];
  const bits = coding.pieces.reduce((sum, piece) => sum + piece[2], 0);
  if (bits < 12) return [];
  const half = 2 ** (bits - 1);
  if (coding.form === "unsigned") return [2 * half - 1, half - 1, half, 2 * half - 2];
  if (coding.form === "sign-magnitude") return [half - 1, 1 - half];
  return [half - 1, -half, half - 2, 1 - half];
}
