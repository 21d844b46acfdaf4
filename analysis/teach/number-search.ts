/**
 * Tries every proposed coding on the frames around the typed values alone, which is quick, and keeps those with which a
 * factor, or powers of ten chosen by some field, explain all that was typed.
 */
import { checkBits, codingBits } from "./coding-bits.ts";
import { type CodingProposal, proposeCodings } from "./coding-search.ts";
import type { KindProposal } from "./frame-kind-search.ts";
import { maskedCodings } from "./mask-search.ts";
import { type IntegerCoding, type NumberCoding, reader } from "./number-coding.ts";
import { cutShort, endsInside, goesOn, livelyEnds, livelyTops } from "./number-ends.ts";
import {
  anySpan,
  type Fit,
  factorFits,
  factorSpan,
  fitsIn,
  hasPower,
  heard,
  isPower,
  narrowed,
  type Span,
  zeroedFits,
} from "./scale-search.ts";
import { proposeSegments } from "./segment-search.ts";
import type { Domain, Sighting } from "./sighting.ts";
import { textNumber } from "./text-number.ts";
import { proposeColumns, proposeTextCodings } from "./text-search.ts";

export interface Survivor {
  readonly coding: NumberCoding;
  /** nats, without the fit's */
  readonly cost: number;
  /** the coding carries the sign itself */
  readonly signed: boolean;
  /** one factor for all; empty where only a range field can explain what was typed */
  readonly fits: readonly Fit[];
  /** text with its unit behind it: numbers are brought to V and A before anything else */
  readonly unitWritten: boolean;
}

/** Frames from all over the recording: what was typed may leave out negative numbers, and over-range. */
const spread = (frames: readonly Uint8Array[]): Uint8Array[] =>
  Array.from({ length: 24 }, (_, i) => frames[Math.floor(((i + 0.5) * frames.length) / 24)]!);

/** Of codings that give the same numbers, so many are kept. */
const mostAlike = 4;
const mostSurvivors = 40;

export function survivors(kind: KindProposal, sightings: readonly Sighting[], domain: Domain): Survivor[] {
  if (sightings.some((sighting) => sighting.frames.length === 0)) return [];
  const near = nearFrames(kind, sightings);
  const out = kind.text ? textSurvivors(kind, near, domain) : binarySurvivors(kind, near, sightings, domain);
  out.sort((a, b) => total(a) - total(b));
  const alike = new Map<string, number>();
  const looked = [...near.frames, ...spread(kind.frames)];
  return out
    .filter(({ coding, signed }) => {
      const key = `${signed}${Array.from(looked, reader(coding)).join()}`;
      const count = (alike.get(key) ?? 0) + 1;
      alike.set(key, count);
      return count <= mostAlike;
    })
    .slice(0, mostSurvivors)
    .filter((survivor) => !lastFigureStands(survivor, kind, sightings));
}

const fewFigures = 3;
const fewestNumbers = 8;

/** Figures finer than the display moves in: the last of them would take any value, where a range behind the number keeps to a few. */
function lastFigureStands(
  { coding, fits }: Survivor,
  { frames }: KindProposal,
  sightings: readonly Sighting[],
): boolean {
  const finer =
    fits.length > 0 && fits.every((fit) => fit.factor < 1.5 * Math.min(...sightings.map(({ half }) => half)));
  if ((coding.coding !== "text" && coding.coding !== "digits") || !finer) return false;
  const raws = new Set(frames.map(reader(coding)).filter(Number.isFinite));
  if (raws.size < fewestNumbers || [...raws].some((raw) => !Number.isInteger(raw))) return false;
  return new Set([...raws].map((raw) => Math.abs(raw) % 10)).size <= fewFigures;
}

/** What a coding costs with the best that it can do; ranges are dearer than one factor. */
export const total = ({ cost, fits }: Survivor): number => cost + (fits[0]?.cost ?? 7);

interface Near {
  readonly frames: readonly Uint8Array[];
  /** sightings that point into `frames` */
  readonly sightings: readonly Sighting[];
  readonly shortest: number;
  /** bits that are ever set, in any frame of the kind */
  readonly ever: Uint8Array;
}

function nearFrames(kind: KindProposal, sightings: readonly Sighting[]): Near {
  const place = new Map<number, number>();
  for (const { frames } of sightings) for (const frame of frames) if (!place.has(frame)) place.set(frame, place.size);
  const shortest = kind.frames.reduce((least, frame) => Math.min(least, frame.length), 96);
  const ever = new Uint8Array(shortest);
  for (const frame of kind.frames) for (let i = 0; i < shortest; i++) ever[i]! |= frame[i]!;
  return {
    frames: [...place.keys()].map((frame) => kind.frames[frame]!),
    sightings: sightings
      .map((sighting) => ({ ...sighting, frames: sighting.frames.map((frame) => place.get(frame)!) }))
      .sort((a, b) => telling(b) - telling(a)),
    shortest,
    ever,
  };
}

/** Many digits and few frames to choose from leave little to chance. */
const telling = ({ value, half, frames }: Sighting): number => Math.abs(value) / half / frames.length;

function binarySurvivors(kind: KindProposal, near: Near, sightings: readonly Sighting[], domain: Domain): Survivor[] {
  const out: Survivor[] = [];
  const ends = livelyEnds(kind, near.shortest);
  const tops = livelyTops(kind, near.shortest);
  const checked = checkBits(kind.kind);
  for (const proposal of proposeCodings(near.shortest)) {
    if (stands(proposal.coding, near) || [...codingBits(proposal.coding)].some((bit) => checked.has(bit))) continue;
    const { coding } = proposal;
    if (coding.coding === "integer" && endStands(coding, near)) continue;
    const told =
      coding.coding === "integer" && endsInside(coding, ends)
        ? { ...proposal, cost: proposal.cost + shortCost }
        : proposal;
    const forms = coding.coding === "integer" && topBitLives(coding, near) ? signedForms(told, coding) : [told];
    for (const form of forms) {
      const whole = cutShort(form.coding, kind) ? { ...form, cost: form.cost + shortCost } : form;
      out.push(...keep(whole, near).map((survivor) => dearerWhereOn(survivor, tops)));
    }
    if (coding.coding !== "integer" || coding.pieces.some((piece) => piece[2] !== 8)) continue;
    out.push(...zeroed(proposal, near, coding));
    if (topBitLives(coding, near))
      out.push(...zeroed({ ...proposal, cost: proposal.cost + 0.5 }, near, { ...coding, form: "twos-complement" }));
  }
  for (const proposal of maskedCodings(near)) out.push(...keep(proposal, near));
  for (const proposal of proposeSegments(kind.frames, sightings)) out.push(...keep(proposal, near));
  for (const proposal of proposeColumns(kind.frames)) {
    if (domain === "base") out.push(...writtenUnit(proposal, near));
    out.push(...keep(proposal, near));
  }
  return out;
}

/** Whole counts of the display end where they end, whatever stands below; a converter's number may go on there. */
function dearerWhereOn(survivor: Survivor, tops: readonly boolean[]): Survivor {
  const { coding, fits, cost } = survivor;
  const counts = fits.length === 0 || fits.some((fit) => isPower(fit.factor));
  return coding.coding === "integer" && !counts && goesOn(coding, tops)
    ? { ...survivor, cost: cost + shortCost }
    : survivor;
}

/** What never moves while different values were typed is not the number. */
function stands(coding: NumberCoding, { frames, sightings }: Near): boolean {
  if (coding.coding === "text" || coding.coding === "segments") return false;
  if (sightings.every((one) => one.value === sightings[0]!.value)) return false;
  const places = coding.coding === "float" ? coding.places : coding.pieces.map((piece) => piece[0]);
  const still = (at: number) => frames.every((frame) => frame[at] === frames[0]![at]);
  // Nor does a float end in a byte that stands, unless it was rounded there.
  if (coding.coding === "float" && still(places.at(-1)!) && frames[0]![places.at(-1)!] !== 0) return true;
  return places.every(still);
}

/** A number moves in its lowest byte first: a byte below it that never changes is none of it. */
function endStands({ pieces }: IntegerCoding, { frames, sightings }: Near): boolean {
  const [at, shift, width] = pieces.at(-1)!;
  if (pieces.length < 2 || width < 4 || sightings.every((one) => one.value === sightings[0]!.value)) return false;
  const low = (frame: Uint8Array) => (frame[at]! >> shift) & ((1 << width) - 1);
  return frames.every((frame) => low(frame) === low(frames[0]!));
}

function topBitLives({ pieces }: IntegerCoding, { ever }: Near): boolean {
  const [at, shift, width] = pieces[0]!;
  return (ever[at]! & (1 << (shift + width - 1))) !== 0;
}

/** Nats against a number that leaves out its own top bytes, or its lowest bits: it would read on where they tell of something else. */
const shortCost = 3;

/** The top bit is set somewhere: it may be a sign. */
function signedForms(proposal: CodingProposal, coding: IntegerCoding): CodingProposal[] {
  const costs = { "twos-complement": 0, "sign-magnitude": 1.5, "middle-is-zero": 2 } as const;
  const signed = Object.entries(costs).map(([form, cost]) => ({
    coding: { ...coding, form: form as keyof typeof costs },
    cost: proposal.cost + cost,
    signed: true,
  }));
  return [{ ...proposal, cost: proposal.cost + 0.7 }, ...signed];
}

/** Keeps a coding that explains every typed value; the most telling ones are asked first, and most codings fail there. */
function keep(proposal: CodingProposal, near: Near): Survivor[] {
  const read = reader(proposal.coding);
  const mayRange = near.sightings.length > 1 && takesRanges(proposal.coding);
  let spans: readonly Span[] = anySpan;
  let ranged = mayRange;
  for (const sighting of near.sightings) {
    const raws = rawsOf(sighting, near, read);
    const size = Math.abs(sighting.value);
    spans = narrowed(spans, { value: proposal.signed ? sighting.value : size, half: sighting.half, raws }, factorSpan);
    ranged &&= raws.some((x) => hasPower(x, size, sighting.half));
    if (spans.length === 0 && !ranged) return [];
  }
  const fits = fitsIn(spans, 0).filter((fit) => suits(fit.factor, proposal.coding, near, read));
  return fits.length > 0 || ranged ? [{ ...proposal, fits, unitWritten: false }] : [];
}

/** Figures with their point, and floats, are in their unit or a thousandth of it; digits without one count by a power of ten. */
function suits(factor: number, { coding }: NumberCoding, near: Near, read: (frame: Uint8Array) => number): boolean {
  if (coding === "integer") return true;
  if (coding === "digits") return isPower(factor);
  const pointed = coding !== "text" || near.frames.some((frame) => read(frame) % 1 !== 0);
  return !pointed || isPrefix(factor);
}

const isPrefix = (factor: number): boolean => [1e-6, 1e-3, 1, 1e3].includes(factor);

function rawsOf({ frames }: Sighting, near: Near, read: (frame: Uint8Array) => number): number[] {
  const raws: number[] = [];
  for (const frame of frames) {
    const x = read(near.frames[frame]!);
    if (Number.isFinite(x) && !raws.includes(x)) raws.push(x);
  }
  return raws;
}

const takesRanges = (coding: NumberCoding): boolean => coding.coding !== "float" && coding.coding !== "text";

function zeroed(proposal: CodingProposal, near: Near, coding: IntegerCoding): Survivor[] {
  const raws = Float64Array.from(near.frames, reader(coding));
  const widest = 256 ** coding.pieces.length - 1;
  const fits = zeroedFits(
    heard(near.sightings, (frame) => raws[frame]!, false),
    widest,
  );
  return fits.length > 0 ? [{ ...proposal, coding, signed: true, fits, unitWritten: false }] : [];
}

function textSurvivors(kind: KindProposal, near: Near, domain: Domain): Survivor[] {
  const out: Survivor[] = [];
  for (const proposal of proposeTextCodings(kind.frames, kind.kind.checks.length > 0)) {
    if (domain === "base") out.push(...writtenUnit(proposal, near));
    const columns = kind.kind.length !== undefined && pointless(proposal.coding, near) ? pointlessCost : 0;
    const cost = columns + (unitsBehind(proposal.coding, kind.frames) > 1 ? unheededCost : 0);
    out.push(...keep({ ...proposal, cost: proposal.cost + cost }, near));
  }
  return out;
}

/**
 * Nats against lines of one length read as text whose number has no point: those are columns, and one of them says where the
 * point belongs. Read as columns, each has its part.
 */
const pointlessCost = 8;

function pointless(coding: NumberCoding, { frames }: Near): boolean {
  const raws = frames.map(reader(coding)).filter(Number.isFinite);
  return raws.every(Number.isInteger);
}

/** Nats against one unit for all where the lines themselves have several behind the number. */
const unheededCost = 8;
/** Fewer may be damaged. */
const fewestLines = 3;

const isUnit = (unit: string): boolean => ["V", "mV", "A", "mA"].includes(unit);

function unitsBehind(coding: NumberCoding, frames: readonly Uint8Array[]): number {
  if (coding.coding !== "text") return 0;
  const lines = new Map<string, number>();
  for (const frame of frames) {
    const { unit } = textNumber(coding, String.fromCharCode(...frame));
    lines.set(unit, (lines.get(unit) ?? 0) + 1);
  }
  return [...lines].filter(([unit, count]) => isUnit(unit) && count >= fewestLines).length;
}

/** Numbers with V, mV, A or mA behind them speak for themselves. */
function writtenUnit(proposal: CodingProposal, near: Near): Survivor[] {
  if (proposal.coding.coding !== "text") return [];
  const coding = proposal.coding;
  let written = 0;
  const raw = Float64Array.from(near.frames, (frame) => {
    const { number, unit } = textNumber(coding, String.fromCharCode(...frame));
    if (unit !== "") written++;
    return unit.startsWith("m") ? number / 1000 : number;
  });
  if (written < 0.5 * near.frames.length) return [];
  const all = heard(near.sightings, (frame) => raw[frame]!, false);
  const plain = factorFits(all, 0).filter((fit) => fit.factor === 1);
  return plain.length > 0 ? [{ coding, cost: proposal.cost - 2, signed: true, fits: plain, unitWritten: true }] : [];
}
