/**
 * From a coding that fits what was typed to whole recipes: sign, ranges, unit, over-range, and what remains in doubt.
 * A coding may give several; which of them to believe is weighed afterwards.
 */
import {
  type BitTrack,
  livingBits,
  type OverProposal,
  overRange,
  type SignProposal,
  signProposals,
} from "./flag-search.ts";
import type { KindProposal } from "./frame-kind-search.ts";
import { type IntegerCoding, type NumberCoding, type Piece, reader } from "./number-coding.ts";
import { type Survivor, survivors } from "./number-search.ts";
import { carryOn, type Field, fields, learntExponents, tiles } from "./range-search.ts";
import { type Flag, type MeterUnit, type Recipe, times } from "./recipe.ts";
import { type Fit, powerOptions } from "./scale-search.ts";
import { type Domain, framesAround, type Sighting, sightings } from "./sighting.ts";
import { baseUnit, type Lesson } from "./teach-input.ts";
import { textNumber } from "./text-number.ts";

/** What a recipe leaves open; it lowers the sureness and chooses what to ask. */
export interface Doubts {
  /** a range came that nobody typed and that nothing explains */
  readonly rangeUnknown: boolean;
  /** a range came that nobody typed; its place was inferred */
  readonly rangeInferred: boolean;
  readonly signGuessed: boolean;
  /** share by which the factor may be off */
  readonly looseness: number;
  /** typed over-range values that no frame shows */
  readonly overUnexplained: number;
}

export interface Hypothesis {
  readonly recipe: Recipe;
  /** nats: how far-fetched, all in all */
  readonly cost: number;
  /** nats of that for the cut into frames */
  readonly kindCost: number;
  /** nats: how well it tells what was typed */
  readonly logLikelihood: number;
  readonly doubts: Doubts;
}

const mostSurvivors = 60;

export function explain(kind: KindProposal, lesson: Lesson): Hypothesis[] {
  const scene = sceneOf(kind, lesson);
  return domains(lesson).flatMap((domain) => {
    const seen = sightings(lesson, kind, domain);
    const found = survivors(kind, seen, domain).slice(0, mostSurvivors);
    return found.flatMap((survivor) => whole(scene, survivor, seen, domain));
  });
}

function domains(lesson: Lesson): Domain[] {
  const milli = lesson.numbers.filter((typed) => typed.unit.startsWith("m")).length;
  if (milli === 0) return ["base"];
  return milli === lesson.numbers.length ? ["shown"] : ["base", "shown"];
}

interface Scene {
  readonly kind: KindProposal;
  readonly lesson: Lesson;
  readonly bits: readonly BitTrack[];
  readonly fields: readonly Field[];
  /** byte · 8 + bit of every bit that changes */
  readonly living: ReadonlySet<number>;
  readonly overWindows: readonly (readonly number[])[];
}

function sceneOf(kind: KindProposal, lesson: Lesson): Scene {
  const taken = checkBits(kind);
  const bits = kind.text ? [] : livingBits(kind.frames).filter((track) => !taken.has(track.at * 8 + track.shift));
  return {
    kind,
    lesson,
    bits,
    living: new Set(bits.map((track) => track.at * 8 + track.shift)),
    fields: kind.text ? [] : fields(kind.frames, taken),
    overWindows: lesson.overRangeSeconds.map((seconds) => framesAround(kind.seconds, seconds)),
  };
}

function checkBits(kind: KindProposal): Set<number> {
  const taken = new Set<number>();
  for (const { back, bits } of kind.kind.checks) {
    if (kind.kind.length === undefined || kind.kind.hexadecimalFrom !== undefined) continue;
    const at = kind.kind.length - back;
    for (let bit = at * 8; bit < at * 8 + bits; bit++) taken.add(bit);
  }
  return taken;
}

export function codingBits(coding: NumberCoding): Set<number> {
  const pieces: Piece[] =
    coding.coding === "segments"
      ? coding.figures.flat()
      : coding.coding === "float"
        ? coding.places.map((at): Piece => [at, 0, 8])
        : coding.coding === "text"
          ? []
          : coding.pieces;
  const taken = new Set<number>();
  for (const [at, shift, width] of pieces) for (let bit = 0; bit < width; bit++) taken.add(at * 8 + shift + bit);
  if (coding.coding === "segments" && coding.point?.side === "left")
    taken.delete(firstPoint(coding.figures[0]!, coding.point.bit));
  return taken;
}

/** A point left of the first figure would be none: glasses have their minus there. */
function firstPoint(pieces: readonly Piece[], pointBit: number): number {
  let below = pieces.reduce((sum, piece) => sum + piece[2], 0);
  for (const [at, shift, width] of pieces) {
    below -= width;
    if (pointBit >= below) return at * 8 + shift + pointBit - below;
  }
  return -1;
}

/** A coding with its way to the value: one factor, or a factor and a table of powers. */
interface Scaled {
  readonly factor: number;
  readonly zero: number;
  readonly looseness: number;
  readonly cost: number;
  readonly range: { field: Field; exponents: Map<number, number>; unknown: boolean; inferred: boolean } | null;
}

function whole(scene: Scene, survivor: Survivor, seen: readonly Sighting[], domain: Domain): Hypothesis[] {
  return formsOf(scene, survivor).flatMap(({ coding, cost, signed }) => {
    const raw = rawSeries(scene, coding, survivor.unitWritten);
    const own = codingBits(coding);
    // A float or a printed number is complete in itself: no range stands beside it.
    const free =
      coding.coding === "float" || coding.coding === "text" ? [] : scene.fields.filter((field) => apart(field, own));
    const scales = scalesOf(raw, survivor, seen, free, !signed, scene.living);
    const cutShort = coding.coding === "integer" ? 1.5 * raggedTop(coding, scene.living) : 0;
    return scales.flatMap((scaled) =>
      finish(scene, { ...survivor, coding, signed, cost: cost + cutShort }, raw, scaled, seen, domain, own),
    );
  });
}

/** The range may not lie in the number's own bits. */
function apart({ bits }: Field, own: ReadonlySet<number>): boolean {
  for (let bit = bits.shift; bit < bits.shift + bits.bits; bit++) if (own.has(bits.at * 8 + bit)) return false;
  return true;
}

function rawSeries(scene: Scene, coding: NumberCoding, unitWritten: boolean): Float64Array {
  if (unitWritten && coding.coding === "text") {
    return Float64Array.from(scene.kind.frames, (frame) => {
      const { number, unit } = textNumber(coding, String.fromCharCode(...frame));
      return unit.startsWith("m") ? number / 1000 : number;
    });
  }
  return Float64Array.from(scene.kind.frames, reader(coding));
}

/** Ways to take the sign of an integer whose top bit did not live where something was typed. */
function formsOf(scene: Scene, survivor: Survivor): { coding: NumberCoding; cost: number; signed: boolean }[] {
  const { coding, cost, signed } = survivor;
  const same = { coding, cost: cost - Math.min(0, ...survivor.fits.map((fit) => fit.cost)), signed };
  const own = survivor.fits.length > 0 ? cost - Math.min(...survivor.fits.map((fit) => fit.cost)) : cost - 6;
  const plain = { ...same, cost: own };
  if (coding.coding !== "integer" || signed || coding.form !== "unsigned") return [plain];
  const half = 2 ** (coding.pieces.reduce((sum, piece) => sum + piece[2], 0) - 1);
  const raw = Float64Array.from(scene.kind.frames, reader(coding));
  if (!raw.some((x) => x >= half)) return [plain];
  const forms = [
    { form: "unsigned", cost: 1 },
    { form: "twos-complement", cost: 0.3 },
    { form: "sign-magnitude", cost: 1.8 },
  ] as const;
  const tried = forms.map(({ form, cost }) => {
    const changed: IntegerCoding = { ...coding, form };
    return {
      coding: changed,
      cost: own + cost,
      signed: form !== "unsigned",
      rough: roughness(Float64Array.from(scene.kind.frames, reader(changed))),
    };
  });
  const least = Math.min(...tried.map(({ rough }) => rough));
  return tried.map((form) => ({ ...form, cost: form.cost + Math.min(12, 0.4 * (form.rough - least)) }));
}

/** Fields end where bits stand still: a living neighbour at either end of one was probably cut off it. */
function raggedness(
  { at, shift, bits }: { at: number; shift: number; bits: number },
  living: ReadonlySet<number>,
): number {
  const above = shift + bits < 8 && living.has(at * 8 + shift + bits);
  const below = shift > 0 && living.has(at * 8 + shift - 1);
  return (above ? 1.5 : 0) + (below ? 1 : 0);
}

function raggedTop({ pieces }: IntegerCoding, living: ReadonlySet<number>): number {
  const [at, shift, bits] = pieces[0]!;
  return raggedness({ at, shift: 0, bits: shift + bits }, living);
}

/** How much a series jumps, in nats: what a wrong reading of the sign makes of a number near nought. */
function roughness(series: Float64Array): number {
  let sum = 0;
  for (let i = 1; i < series.length; i++) sum += Math.min(20, Math.log1p(Math.abs(series[i]! - series[i - 1]!)) || 0);
  return sum;
}

function scalesOf(
  raw: Float64Array,
  survivor: Survivor,
  seen: readonly Sighting[],
  free: readonly Field[],
  sizeOnly: boolean,
  living: ReadonlySet<number>,
): Scaled[] {
  const sizes = raw.map(Math.abs);
  const ownPoint = survivor.coding.coding === "segments";
  const out: Scaled[] = survivor.fits.map((fit) => ({ ...fit, range: null }));
  const place = Math.log(free.length + 1);
  if (survivor.fits.length === 0) {
    const options = powerOptions((frame) => raw[frame]!, seen);
    if (!options) return [];
    for (const field of free) {
      const known = learntExponents(field, options);
      if (!known || new Set(known.values()).size < 2) continue;
      const table = carryOn(field, known, sizes, ownPoint);
      const lawful = table.inferred.length > 0 || lawOf(known);
      const ordered = tiles(field, table.exponents, sizes, ownPoint) ? 0 : 5;
      const cost =
        place +
        2 +
        ordered +
        raggedness(field.bits, living) +
        (lawful ? 0 : 1.2 * known.size) +
        3 * table.unknown.length +
        0.3 * field.distinct.length;
      out.push({
        factor: 1,
        zero: 0,
        looseness: 0,
        cost,
        range: {
          field,
          exponents: table.exponents,
          unknown: table.unknown.length > 0,
          inferred: table.inferred.length > 0,
        },
      });
    }
    return out.sort((a, b) => a.cost - b.cost).slice(0, 12);
  }
  for (const fit of survivor.fits)
    if (isPowerOfTen(fit)) out.push(...untypedRanges(raw, sizes, fit, seen, free, sizeOnly, ownPoint, living));
  return out.slice(0, 8);
}

const isPowerOfTen = ({ factor, zero }: Fit): boolean =>
  zero === 0 && Math.abs(Math.log10(factor) - Math.round(Math.log10(factor))) < 1e-9;

function lawOf(known: ReadonlyMap<number, number>): boolean {
  const points = [...known];
  return [1, -1].some((slope) =>
    points.every(([state, exponent]) => exponent - points[0]![1] === slope * (state - points[0]![0])),
  );
}

/** All that was typed lay in one range; a field that orders the rest of the stream as ranges would says that there are others. */
function untypedRanges(
  raw: Float64Array,
  sizes: Float64Array,
  fit: Fit,
  seen: readonly Sighting[],
  free: readonly Field[],
  sizeOnly: boolean,
  ownPoint: boolean,
  living: ReadonlySet<number>,
): Scaled[] {
  const matched = matchedFrames(seen, (frame) => raw[frame]! * fit.factor, sizeOnly);
  const out: Scaled[] = [];
  for (const field of free) {
    const states = new Set(matched.map((frames) => field.values[frames[0]!]!));
    if (matched.some((frames) => frames.length === 0)) continue;
    const known = new Map([...states].map((state) => [state, 0] as const));
    if (known.size !== 1) continue;
    const table = carryOn(field, known, sizes, ownPoint);
    if (table.inferred.length === 0 || !spread(table.exponents)) continue;
    const strength = Math.min(10, 1.2 * visits(field, states));
    const cost = fit.cost + 3.5 + 0.5 * Math.log(free.length + 1) + raggedness(field.bits, living) - strength;
    out.push({ ...fit, cost, range: { field, exponents: table.exponents, unknown: false, inferred: true } });
  }
  return out.sort((a, b) => a.cost - b.cost).slice(0, 4);
}

const spread = (exponents: ReadonlyMap<number, number>): boolean =>
  [...exponents.values()].every((exponent) => Math.abs(exponent) <= 4);

/** How often the field left the states that were typed. */
function visits(field: Field, states: ReadonlySet<number>): number {
  let count = 0;
  for (let i = 1; i < field.values.length; i++) {
    if (!states.has(field.values[i]!) && states.has(field.values[i - 1]!)) count++;
  }
  return count;
}

/** For each sighting the frames that show what was typed. */
function matchedFrames(seen: readonly Sighting[], value: (frame: number) => number, sizeOnly: boolean): number[][] {
  return seen.map((sighting) => {
    const wanted = sizeOnly ? Math.abs(sighting.value) : sighting.value;
    return sighting.frames.filter((frame) => Math.abs(value(frame) - wanted) <= sighting.half * 1.7);
  });
}

function finish(
  scene: Scene,
  survivor: Survivor,
  raw: Float64Array,
  scaled: Scaled,
  seen: readonly Sighting[],
  domain: Domain,
  own: ReadonlySet<number>,
): Hypothesis[] {
  const values = raw.map((x, i) => {
    const exponent = scaled.range ? scaled.range.exponents.get(scaled.range.field.values[i]!) : 0;
    return exponent === undefined ? Number.NaN : times(x - scaled.zero, scaled.factor, exponent);
  });
  const matched = matchedFrames(seen, (frame) => values[frame]!, !survivor.signed);
  if (matched.some((frames) => frames.length === 0)) return [];
  const bits = scene.bits.filter((track) => !own.has(track.at * 8 + track.shift) && !inRange(track, scaled));
  const signs = survivor.signed
    ? [{ flag: null, cost: 0, guessed: false }]
    : signsOf(scene, bits, seen, matched, values, scaled);
  const all = new Set(matched.flat());
  return signs.flatMap((sign) => {
    const over = overRange(
      raw,
      bits.filter((track) => !isFlag(track, sign.flag)),
      all,
      scene.overWindows,
      topCodes(survivor.coding),
    );
    return unitsOf(scene, seen, matched, domain, survivor, scaled).map((unit) => {
      const recipe = recipeOf(scene.kind, survivor, scaled, sign, over, unit.unit, own);
      return {
        recipe,
        cost:
          scene.kind.cost +
          survivor.cost +
          scaled.cost +
          sign.cost +
          over.cost +
          unit.cost +
          farFetched(values, raw, over, seen),
        kindCost: scene.kind.cost,
        logLikelihood: likelihood(seen, values) - 8 * over.unexplained,
        doubts: {
          rangeUnknown: scaled.range?.unknown ?? false,
          rangeInferred: scaled.range?.inferred ?? false,
          signGuessed: sign.guessed || (sign.flag === null && signs.length > 1),
          looseness: scaled.looseness,
          overUnexplained: over.unexplained,
        },
      };
    });
  });
}

/** A meter on a 12 V feed does not read a hundred times what was typed, over-range set apart (common sense, not a limit). */
function farFetched(values: Float64Array, raw: Float64Array, over: OverProposal, seen: readonly Sighting[]): number {
  const most = 100 * Math.max(...seen.map((sighting) => Math.abs(sighting.value) + 20 * sighting.half));
  let far = 0;
  for (const [i, value] of values.entries())
    if (Math.abs(value) > most && Number.isFinite(value) && !over.codes.includes(raw[i]!)) far++;
  return far === 0 ? 0 : 3 + Math.min(3, (10 * far) / values.length);
}

const isFlag = (track: BitTrack, flag: Flag | null): boolean =>
  flag !== null && track.at === flag.at && track.shift === flag.shift;

function inRange(track: BitTrack, { range }: Scaled): boolean {
  if (!range) return false;
  const { at, shift, bits } = range.field.bits;
  return track.at === at && track.shift >= shift && track.shift < shift + bits;
}

function signsOf(
  scene: Scene,
  bits: readonly BitTrack[],
  seen: readonly Sighting[],
  matched: readonly number[][],
  values: Float64Array,
  scaled: Scaled,
): SignProposal[] {
  const matches = seen.map((sighting, i) => ({
    negative: sighting.value < 0,
    zero: sighting.value === 0,
    frames: matched[i]!,
  }));
  if (scene.kind.text) return matches.some((match) => match.negative) ? [] : [{ flag: null, cost: 0, guessed: false }];
  const step = scaled.range
    ? Math.min(...[...scaled.range.exponents.values()].map((k) => scaled.factor * 10 ** k))
    : scaled.factor;
  return signProposals(bits, matches, values.map(Math.abs), step);
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

function unitsOf(
  scene: Scene,
  seen: readonly Sighting[],
  matched: readonly number[][],
  domain: Domain,
  survivor: Survivor,
  scaled: Scaled,
) {
  if (survivor.unitWritten) return [{ unit: "written" as const, cost: 0 }];
  const wanted = seen.map(
    (sighting): MeterUnit => (domain === "base" ? baseUnit(sighting.typed.unit) : sighting.typed.unit),
  );
  const kinds = new Set(wanted);
  if (kinds.size === 1) return [{ unit: wanted[0]!, cost: 0 }];
  const out: { unit: Recipe["unit"]; cost: number }[] = [];
  const own = codingBits(survivor.coding);
  for (const field of scene.fields) {
    if (!apart(field, own)) continue;
    const units: Record<string, MeterUnit> = {};
    const agrees = wanted.every((unit, i) => {
      const state = String(field.values[matched[i]![0]!]!);
      if (units[state] !== undefined && units[state] !== unit) return false;
      units[state] = unit;
      return true;
    });
    const unseen = field.distinct.filter((state) => units[String(state)] === undefined).length;
    if (agrees)
      out.push({
        unit: { field: field.bits, units },
        cost: Math.log(scene.fields.length) + 1 + 2 * unseen + 0.5 * field.distinct.length,
      });
  }
  return scaled.range && out.length > 6 ? out.sort((a, b) => a.cost - b.cost).slice(0, 6) : out.slice(0, 6);
}

function recipeOf(
  kind: KindProposal,
  survivor: Survivor,
  scaled: Scaled,
  sign: SignProposal,
  over: OverProposal,
  unit: Recipe["unit"],
  own: ReadonlySet<number>,
): Recipe {
  const used = new Set(own);
  const use = (bits: { at: number; shift: number; bits: number }) => {
    for (let bit = 0; bit < bits.bits; bit++) used.add(bits.at * 8 + bits.shift + bit);
  };
  for (const flag of over.flags) use(flag);
  if (sign.flag) use(sign.flag);
  if (scaled.range) use(scaled.range.field.bits);
  const fixed = kind.kind.hexadecimalFrom === undefined ? kind.kind.fixed.flatMap((entry) => without(entry, used)) : [];
  return {
    format: "recipe/1",
    framing: kind.framing,
    frame: { ...kind.kind, fixed },
    others: [...kind.others],
    number: survivor.coding,
    ...(sign.flag ? { negative: sign.flag } : {}),
    scale: {
      factor: scaled.factor,
      ...(scaled.zero !== 0 ? { zero: scaled.zero } : {}),
      ...(scaled.range
        ? { range: { field: scaled.range.field.bits, exponents: Object.fromEntries(scaled.range.exponents) } }
        : {}),
    },
    unit,
    overRange: { flags: [...over.flags], codes: [...over.codes], ...(over.unreadable ? { unreadable: true } : {}) },
  };
}

/** Fixed bits that the number or a flag may yet turn are no sign of a sound frame. */
function without([at, mask, value]: [number, number, number], used: ReadonlySet<number>): [number, number, number][] {
  let left = mask;
  for (let bit = 0; bit < 8; bit++) if (used.has(at * 8 + bit)) left &= ~(1 << bit);
  return left === 0 ? [] : [[at, left, value & left]];
}
