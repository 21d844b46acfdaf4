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
import type { Field, RangeTable } from "./range-search.ts";
import { type Recipe, times } from "./recipe.ts";
import type { Fit } from "./scale-search.ts";
import type { Scene } from "./scene.ts";
import type { Domain, Sighting } from "./sighting.ts";
import { ownSignCost, type SignProposal, signProposals } from "./sign-search.ts";
import { levelsOf } from "./stream-evidence.ts";
import { stepOf, type UnitWeight, unitWeights } from "./unit-weight.ts";
import { countSize, inRange, isAt, isUsed, withoutPart } from "./unused-bits.ts";

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
  /** the same for a round factor */
  readonly tolerance: number;
  /** how its number came by its sign */
  readonly sign: "written" | "seen" | "never seen";
  /** ranges came in the stream that nobody typed: their powers of ten are only carried on */
  readonly untoldRanges: boolean;
  /** ranges came in the stream, and stayed, that nobody typed and no law tells: their values are not read */
  readonly unreadRanges: boolean;
  /** share of the bytes that belong to no frame */
  readonly strayShare: number;
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
  /** share of the frames without a number */
  readonly unread: number;
  readonly own: ReadonlySet<number>;
  /** bytes beside the number that only repeat it */
  readonly repeating: ReadonlySet<number>;
  /** living bits beside it in other bytes */
  readonly bits: readonly BitTrack[];
  /** those of them that may be a hold's */
  readonly held: ReadonlySet<BitTrack>;
  /** those of them that turn as the number jumps, or with which it falls to nothing */
  readonly related: readonly BitTrack[];
  readonly bound: Bound;
}

/** The least that any way to read these frames has cost so far (nats, what was typed told with it). */
export interface Bound {
  best: number;
}

/** Ways further behind the best than this weigh nothing beside it: they are not followed to the end (nats). */
const outweighed = 14;

const isOutweighed = (cost: number, { best }: Bound): boolean => cost > best + outweighed;
/** The most that a sign, and an order of ranges by their units, can speak for a way to read (nats). */
const mostYetToCome = 20;

export function finish(given: Case, scaled: Scaled): Hypothesis[] {
  const { scene, survivor, seen, raw } = given;
  const sizes = scaledSeries(raw, scaled);
  const matched = matchedFrames(seen, sizes, !survivor.signed);
  if (matched.some((frames) => frames.length === 0)) return [];
  const bits = given.bits.filter((track) => !inRange(track, scaled));
  const codes = topCodes(survivor.coding);
  const full = fullCount(raw, countSize(scaled, seen), codes);
  return overProposals(raw, bits, matched, scene.overWindows, codes, full).flatMap((over) => {
    const sure = scene.kind.cost + survivor.cost + scaled.cost + over.cost;
    if (isOutweighed(sure - mostYetToCome, given.bound)) return [];
    const clean = withoutOver(sizes, raw, over, bits);
    const others = bits.filter((track) => !over.flags.some((flag) => isAt(track, flag)));
    const byUnit = unitWeights(given, scaled, clean);
    return signsFor(given, scaled, clean, others, matched)
      .filter(({ flag }) => flag === null || !isRange(others.find((track) => isAt(track, flag))!, scaled))
      .flatMap((sign) => weighed(given, scaled, clean, over, sign, matched, others, byUnit));
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
  byUnit: (unit: Recipe["unit"]) => UnitWeight,
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
  const logLikelihood = likelihood(seen, values);
  return [...units, ...prefixes].flatMap(({ unit, cost: unitCost }) => {
    const weight = byUnit(unit);
    const costs = {
      frames: scene.kind.cost,
      number: survivor.cost,
      scale: scaled.cost + weight.order(),
      overRange: over.cost,
      sign: sign.cost,
      unit: unitCost,
    };
    const plain = total(costs);
    if (isOutweighed(plain - logLikelihood, given.bound)) return [];
    const stream = weight.stream();
    if (isOutweighed(plain + stream - logLikelihood, given.bound)) return [];
    const idle = withoutPart({ given, scaled, over, sign, unit, values, matched });
    const cost = plain + stream + idle.cost;
    given.bound.best = Math.min(given.bound.best, cost - logLikelihood);
    return {
      recipe: () => assemble(parts, unit),
      costs: { ...costs, stream, idle: idle.cost },
      cost,
      logLikelihood,
      looseness: scaled.fit.looseness,
      tolerance: scaled.fit.tolerance,
      sign: signKnown(survivor, sign, values),
      untoldRanges: (scaled.range?.table.inferred.length ?? 0) > 0 || prefixes.some((prefix) => prefix.unit === unit),
      unreadRanges: scaled.range !== null && stayUnread(scaled.range),
      strayShare: scene.kind.strayShare,
      overUnexplained: over.unexplained,
      untested: idle.frame === null ? null : { seconds: scene.kind.seconds[idle.frame]!, beyond: idle.beyond },
    };
  });
}

const total = (costs: Readonly<Record<string, number>>): number =>
  Object.values(costs).reduce((sum, cost) => sum + cost, 0);

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
