/**
 * From a coding that fits what was typed to whole recipes: ranges, sign, over-range, unit. Each of them is tried in every way
 * that does not contradict what was typed; how the whole stream reads then is part of what a way costs.
 */
import { assemble, type Parts, unitsFor } from "./assemble.ts";
import { checkBits, codingBits } from "./coding-bits.ts";
import {
  type BitTrack,
  jumpingWith,
  livingBits,
  type OverProposal,
  overProposals,
  ownSignCost,
  type SignProposal,
  signProposals,
} from "./flag-search.ts";
import type { KindProposal } from "./frame-kind-search.ts";
import { type NumberCoding, reader } from "./number-coding.ts";
import { type Survivor, survivors, total } from "./number-search.ts";
import { type Field, fields, learntExponents, type RangeTable, tablesFor, turnEvidence } from "./range-search.ts";
import { type Recipe, times } from "./recipe.ts";
import { type Fit, powerOptions } from "./scale-search.ts";
import { type Domain, framesAround, type Sighting, sightings } from "./sighting.ts";
import { excess, levelsOf, unsteadiness } from "./stream-evidence.ts";
import type { Lesson } from "./teach-input.ts";
import { textNumber } from "./text-number.ts";

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
  /** typed over-range values that no frame shows */
  readonly overUnexplained: number;
}

export interface Scene {
  readonly kind: KindProposal;
  readonly lesson: Lesson;
  readonly bits: readonly BitTrack[];
  readonly fields: readonly Field[];
  readonly overWindows: readonly (readonly number[])[];
  /** largest typed value, V or A */
  readonly typedMost: number;
}

export function explain(kind: KindProposal, lesson: Lesson): Hypothesis[] {
  const out: Hypothesis[] = [];
  let scene: Scene | null = null;
  for (const domain of domains(lesson)) {
    const seen = sightings(lesson, kind, domain);
    const found = survivors(kind, seen, domain);
    if (found.length === 0) continue;
    scene ??= sceneOf(kind, lesson);
    let best = Number.POSITIVE_INFINITY;
    for (const survivor of found) {
      if (total(survivor) > best + hopeless) break;
      const whole = completions(scene, survivor, seen, domain);
      best = Math.min(best, ...whole.map(({ cost, logLikelihood }) => cost - kind.cost - logLikelihood));
      out.push(...whole);
    }
  }
  return out;
}

/** A coding that is this much dearer than another with all that belongs to it cannot catch up (nats). */
const hopeless = 10;

function domains(lesson: Lesson): Domain[] {
  const milli = lesson.numbers.filter((typed) => typed.unit.startsWith("m")).length;
  if (milli === 0) return ["base"];
  return milli === lesson.numbers.length ? ["shown"] : ["base", "shown"];
}

function sceneOf(kind: KindProposal, lesson: Lesson): Scene {
  const taken = checkBits(kind.kind);
  return {
    kind,
    lesson,
    bits: kind.text ? [] : livingBits(kind.frames, taken),
    fields: kind.text ? [] : fields(kind.frames, taken),
    overWindows: lesson.overRangeSeconds.map((seconds) => framesAround(kind.seconds, seconds)),
    typedMost: Math.max(...lesson.numbers.map((typed) => Math.abs(typed.base))),
  };
}

/** A coding with its way to the value: one factor, or a table of powers that a field chooses. */
interface Scaled {
  readonly fit: Fit;
  readonly range: { field: Field; table: RangeTable } | null;
  /** nats, the fit's own included */
  readonly cost: number;
}

function completions(scene: Scene, survivor: Survivor, seen: readonly Sighting[], domain: Domain): Hypothesis[] {
  const raw = rawSeries(scene, survivor);
  const own = codingBits(survivor.coding);
  const related = scene.kind.text
    ? []
    : jumpingWith(
        raw,
        scene.bits.filter((track) => !own.has(track.at * 8 + track.shift)),
      );
  const free = freeFields(scene, survivor.coding, own);
  const out = scalesOf(raw, survivor, seen, free).flatMap((scaled) =>
    finish({ scene, survivor, seen, domain, raw, own, related }, scaled),
  );
  return out.sort((a, b) => a.cost - a.logLikelihood - (b.cost - b.logLikelihood)).slice(0, 8);
}

/** A float or a printed number is complete in itself: no range stands beside it. Nor may one lie in the number's own bits. */
function freeFields({ fields }: Scene, { coding }: NumberCoding, own: ReadonlySet<number>): Field[] {
  if (coding === "float" || coding === "text") return [];
  return fields.filter(({ bits }) => {
    for (let bit = bits.shift; bit < bits.shift + bits.bits; bit++) if (own.has(bits.at * 8 + bit)) return false;
    return true;
  });
}

function rawSeries({ kind }: Scene, { coding, unitWritten }: Survivor): Float64Array {
  if (!unitWritten || coding.coding !== "text") return Float64Array.from(kind.frames, reader(coding));
  return Float64Array.from(kind.frames, (frame) => {
    const { number, unit } = textNumber(coding, String.fromCharCode(...frame));
    return unit.startsWith("m") ? number / 1000 : number;
  });
}

function scalesOf(raw: Float64Array, survivor: Survivor, seen: readonly Sighting[], free: readonly Field[]): Scaled[] {
  // Codes for over-range are no sizes.
  const codes = topCodes(survivor.coding);
  const sizes = raw.map((x) => (codes.includes(x) ? Number.NaN : Math.abs(x)));
  const ownPoint = survivor.coding.coding === "segments";
  const place = Math.log(new Set(free.map(({ bits }) => bits.at)).size + 1);
  const single = survivor.fits.map((fit) => ({ fit, range: null, cost: fit.cost }));
  const ranged: Scaled[] = [];
  const options = free.length > 0 ? powerOptions((frame) => raw[frame]!, seen) : null;
  if (options) {
    for (const field of free) {
      const known = learntExponents(field, options);
      if (!known || known.size === 0) continue;
      const told = new Set(known.values()).size > 1;
      // One exponent for all that was typed: that the field chooses it is only what the stream suggests.
      const suggested = told ? 0 : 1.5 - turnEvidence(field, new Set(known.keys()), sizes);
      for (const table of tablesFor(field, known, sizes, ownPoint).slice(0, 3)) {
        if (!told && table.inferred.length === 0) continue;
        const cost = 1.5 + place + field.ragged + suggested + table.cost + 0.3 * field.distinct.length;
        ranged.push({ fit: { factor: 1, zero: 0, looseness: 0, cost: 0 }, range: { field, table }, cost });
      }
    }
  }
  return [...single, ...ranged.sort((a, b) => a.cost - b.cost).slice(0, 6)];
}

interface Case {
  readonly scene: Scene;
  readonly survivor: Survivor;
  readonly seen: readonly Sighting[];
  readonly domain: Domain;
  readonly raw: Float64Array;
  readonly own: ReadonlySet<number>;
  /** state bits that turn as the number jumps */
  readonly related: readonly BitTrack[];
}

function finish(given: Case, scaled: Scaled): Hypothesis[] {
  const { scene, survivor, seen, raw } = given;
  const sizes = scaledSeries(raw, scaled);
  const matched = matchedFrames(seen, sizes, !survivor.signed);
  if (matched.some((frames) => frames.length === 0)) return [];
  const bits = scene.bits.filter((track) => !given.own.has(track.at * 8 + track.shift) && !inRange(track, scaled));
  return overProposals(raw, bits, matched, scene.overWindows, topCodes(survivor.coding)).flatMap((over) => {
    const clean = withoutOver(sizes, raw, over, bits);
    const others = bits.filter(
      (track) => !over.flags.some((flag) => flag.at === track.at && flag.shift === track.shift),
    );
    return signsFor(given, scaled, clean, others, matched).flatMap((sign) =>
      weighed(given, scaled, clean, over, sign, matched, others),
    );
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

const inRange = (track: BitTrack, { range }: Scaled): boolean => {
  if (!range) return false;
  const { at, shift, bits } = range.field.bits;
  return track.at === at && track.shift >= shift && track.shift < shift + bits;
};

function withoutOver(
  sizes: Float64Array,
  raw: Float64Array,
  over: OverProposal,
  bits: readonly BitTrack[],
): Float64Array {
  const flags = over.flags.map((flag) => ({
    equals: flag.equals,
    track: bits.find((track) => track.at === flag.at && track.shift === flag.shift)!,
  }));
  return sizes.map((size, i) =>
    over.codes.includes(raw[i]!) || flags.some(({ equals, track }) => track.values[i] === equals) ? Number.NaN : size,
  );
}

/** Smallest change that counts: one of the number's own steps, or of the display's where those are finer. */
function stepOf({ fit, range }: Scaled, seen: readonly Sighting[]): number {
  const exponents = range ? [...range.table.exponents.values()] : [0];
  return Math.max(fit.factor * 10 ** Math.min(...exponents), 2 * Math.min(...seen.map(({ half }) => half)));
}

function signsFor(
  { scene, survivor, seen }: Case,
  scaled: Scaled,
  clean: Float64Array,
  bits: readonly BitTrack[],
  matched: readonly number[][],
): SignProposal[] {
  if (survivor.signed)
    return [{ flag: null, cost: ownSignCost(clean, levelsOf(clean.map(Math.abs), stepOf(scaled, seen))) }];
  const matches = seen.map(({ value, half }, i) => ({
    negative: value < 0,
    zero: Math.abs(value) <= half,
    frames: matched[i]!,
  }));
  if (scene.kind.text) return matches.some((match) => match.negative && !match.zero) ? [] : [{ flag: null, cost: 0 }];
  return signProposals(bits, matches, clean.map(Math.abs), levelsOf(clean.map(Math.abs), stepOf(scaled, seen)));
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
  const typedMost = Math.max(...seen.map(({ value }) => Math.abs(value)));
  const feedMost = domain === "base" ? undefined : 100 * Math.max(1, typedMost / scene.typedMost);
  const stream = unsteadiness(values, stepOf(scaled, seen)) + excess(values, typedMost, feedMost);
  const parts: Parts = { ...given, scaled: { fit: scaled.fit, range: scaled.range }, over, sign, bits, clean };
  return unitsFor(scene, seen, matched, domain, survivor).map(({ unit, cost: unitCost }) => {
    const costs = {
      frames: scene.kind.cost,
      number: survivor.cost,
      scale: scaled.cost,
      overRange: over.cost,
      sign: sign.cost,
      unit: unitCost,
      stream,
      idle: idleCost(given, scaled, over, sign, unit, values),
    };
    return {
      recipe: () => assemble(parts, unit),
      costs,
      cost: Object.values(costs).reduce((sum, cost) => sum + cost, 0),
      logLikelihood: likelihood(seen, values),
      looseness: scaled.fit.looseness,
      sign: signKnown(survivor, sign, values),
      overUnexplained: over.unexplained,
    };
  });
}

/** A state bit that goes with the number's jumps and has no part in the recipe is a part that was missed (nats a byte). */
const idleStateCost = 3;

function idleCost(
  { related, own }: Case,
  scaled: Scaled,
  over: OverProposal,
  sign: SignProposal,
  unit: Recipe["unit"],
  values: Float64Array,
): number {
  const unitAt = typeof unit === "string" ? -1 : unit.field.at;
  const used = (track: BitTrack) =>
    track.at === unitAt ||
    own.has(track.at * 8 + track.shift) ||
    inRange(track, scaled) ||
    [...over.flags, sign.flag].some((flag) => flag?.at === track.at && flag.shift === track.shift);
  const idle = related.filter((track) => !used(track) && !follows(track, scaled, values));
  return idleStateCost * Math.min(2, new Set(idle.map((track) => track.at)).size);
}

/** Whether a bit says nothing but what range, sign and over-range say already: a unit beside its range, a sign spread upwards. */
function follows({ values: bit }: BitTrack, { range }: Scaled, values: Float64Array): boolean {
  const says = new Map<number, number>();
  for (let i = 0; i < bit.length; i++) {
    const state = range ? range.field.values[i]! : 0;
    const kind = state * 3 + (Number.isNaN(values[i]!) ? 2 : values[i]! < 0 ? 1 : 0);
    const said = says.get(kind);
    if (said === undefined) says.set(kind, bit[i]!);
    else if (said !== bit[i]) return false;
  }
  return true;
}

function signedBy(sizes: Float64Array, { flag }: SignProposal, bits: readonly BitTrack[]): Float64Array {
  const track = bits.find(({ at, shift }) => at === flag!.at && shift === flag!.shift)!;
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
function topCodes(coding: NumberCoding): number[] {
  if (coding.coding !== "integer") return [];
  const bits = coding.pieces.reduce((sum, piece) => sum + piece[2], 0);
  if (bits < 12) return [];
  const half = 2 ** (bits - 1);
  if (coding.form === "unsigned") return [2 * half - 1, half - 1, half, 2 * half - 2];
  if (coding.form === "sign-magnitude") return [half - 1, 1 - half];
  return [half - 1, -half, half - 2, 1 - half];
}
