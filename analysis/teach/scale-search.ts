/**
 * From raw numbers to what was typed: one factor for all, a factor and a zero, or a power of ten that a field chooses.
 */
import type { Sighting } from "./sighting.ts";

export interface Fit {
  readonly factor: number;
  readonly zero: number;
  /** how far the factor may be off, as a share of itself */
  readonly looseness: number;
  /** nats */
  readonly cost: number;
}

/** raw numbers of a frame, by its index */
export type Raw = (frame: number) => number;

interface Span {
  readonly low: number;
  readonly high: number;
}

const mostSpans = 48;

/** Factors with which every sighting has a frame that shows what was typed: round ones, else whatever span of factors does. */
export function fixedFits(raw: Raw, sightings: readonly Sighting[], sizeOnly: boolean): Fit[] {
  const order = [...sightings].sort((a, b) => Math.abs(b.value) / b.half - Math.abs(a.value) / a.half);
  const [top, ...rest] = order;
  if (!top || Math.abs(top.value) <= top.half) return [];
  const round: Fit[] = [];
  const spans: Span[] = [];
  for (const frame of top.frames) {
    const span = meet(anyFactor, raw(frame), wanted(top, sizeOnly), top.half);
    if (!span || span.high === Number.POSITIVE_INFINITY || spans.some((other) => other.low === span.low)) continue;
    spans.push(span);
    for (const { factor, cost } of roundFactors(span)) {
      if (round.some((fit) => fit.factor === factor) || !explains(raw, rest, factor, sizeOnly)) continue;
      round.push({ factor, cost, zero: 0, looseness: 0 });
    }
  }
  return round.length > 0 ? round : looseFits(raw, rest, spans, sizeOnly);
}

const anyFactor: Span = { low: 0, high: Number.POSITIVE_INFINITY };
const wanted = ({ value }: Sighting, sizeOnly: boolean): number => (sizeOnly ? Math.abs(value) : value);

function explains(raw: Raw, sightings: readonly Sighting[], factor: number, sizeOnly: boolean): boolean {
  return sightings.every((sighting) => {
    const value = wanted(sighting, sizeOnly);
    return sighting.frames.some((frame) => Math.abs(raw(frame) * factor - value) <= sighting.half);
  });
}

function looseFits(raw: Raw, sightings: readonly Sighting[], start: readonly Span[], sizeOnly: boolean): Fit[] {
  let spans = start;
  for (const sighting of sightings) {
    const next: Span[] = [];
    for (const x of new Set(sighting.frames.map(raw))) {
      if (Number.isNaN(x)) continue;
      for (const span of spans) {
        const met = meet(span, x, wanted(sighting, sizeOnly), sighting.half);
        if (met && next.length < mostSpans) next.push(met);
      }
    }
    if (next.length === 0) return [];
    spans = next;
  }
  const fits = spans.map((span) => ({ ...loose(span), zero: 0 }));
  return fits.sort((a, b) => a.cost - b.cost).slice(0, 3);
}

function meet(span: Span, x: number, value: number, half: number): Span | null {
  if (x === 0) return Math.abs(value) <= half ? span : null;
  const a = (value - half) / x;
  const b = (value + half) / x;
  const low = Math.max(span.low, Math.min(a, b));
  const high = Math.min(span.high, Math.max(a, b));
  return low <= high && high > 0 ? { low, high } : null;
}

/** Factors in a span that a programmer would most likely have chosen. Costs are nats, our estimate of such habits. */
function roundFactors({ low, high }: Span): { factor: number; cost: number }[] {
  const out: { factor: number; cost: number }[] = [];
  const power = Math.ceil(Math.log10(low) - 1e-9);
  if (within(10 ** power, low, high))
    out.push({ factor: Number((10 ** power).toPrecision(1)), cost: 1.5 + Math.abs(power + 2) * 0.25 });
  const binary = Math.ceil(Math.log2(low) - 1e-9);
  if (binary < 0 && binary >= -24 && within(2 ** binary, low, high)) out.push({ factor: 2 ** binary, cost: 4 });
  for (const start of [5, 2, 2.5, 1.25]) {
    const shift = Math.ceil(Math.log10(low / start) - 1e-9);
    const factor = Number((start * 10 ** shift).toPrecision(4));
    if (within(factor, low, high)) out.push({ factor, cost: 4.5 });
  }
  return out;
}

/** The factor of a span without a round one: a short number where the span is too narrow to hold one by chance, else its middle. */
function loose({ low, high }: Span): { factor: number; cost: number; looseness: number } {
  const looseness = (high - low) / (high + low);
  const middle = (low + high) / 2;
  for (const [digits, cost] of [
    [2, 7.5],
    [3, 10],
  ] as const) {
    const factor = Number(middle.toPrecision(digits));
    if (within(factor, low, high) && looseness < 0.4 * 10 ** -digits) return { factor, cost, looseness: 0 };
  }
  return { factor: middle, cost: Math.min(14, Math.log(27 / Math.max(looseness, 1e-9)) + 2), looseness };
}

const within = (x: number, low: number, high: number): boolean => x >= low * (1 - 1e-9) && x <= high * (1 + 1e-9);

/** Factor and zero from pairs of sightings, for converters that do not rest at nought; worth asking from four typed values on. */
export function zeroedFits(raw: Raw, sightings: readonly Sighting[]): Fit[] {
  if (sightings.length < 4) return [];
  const order = [...sightings].sort((a, b) => b.value - a.value);
  const [top, bottom] = [order[0]!, order.at(-1)!];
  if (top.value - bottom.value < 20 * top.half) return [];
  const found: Fit[] = [];
  for (const a of distinct(top, raw)) {
    for (const b of distinct(bottom, raw)) {
      if (a <= b) continue;
      const fit = throughPair(raw, sightings, a, b, top, bottom);
      if (fit && !found.some((other) => Math.abs(other.factor / fit.factor - 1) < 1e-3)) found.push(fit);
    }
  }
  return found.slice(0, 4);
}

function distinct(sighting: Sighting, raw: Raw): number[] {
  return [...new Set(sighting.frames.map(raw))].filter(Number.isFinite).slice(0, 12);
}

function throughPair(
  raw: Raw,
  sightings: readonly Sighting[],
  a: number,
  b: number,
  top: Sighting,
  bottom: Sighting,
): Fit | null {
  let factor = (top.value - bottom.value) / (a - b);
  let zero = a - top.value / factor;
  const roundZero = roundedZero(zero, (2 * top.half) / factor);
  if (roundZero !== null) {
    zero = roundZero;
    const shifted = fixedFits((frame) => raw(frame) - zero, sightings, false)[0];
    return shifted ? { ...shifted, zero, cost: shifted.cost + 4 } : null;
  }
  for (const digits of [1, 2]) {
    const nice = Number(factor.toPrecision(digits));
    if (Math.abs(nice / factor - 1) < (2 * top.half) / (top.value - bottom.value)) {
      factor = nice;
      zero = Math.round(a - top.value / factor);
      break;
    }
  }
  const close = sightings.every((s) =>
    s.frames.some((frame) => Math.abs((raw(frame) - zero) * factor - s.value) <= s.half * 1.6),
  );
  return close ? { factor, zero, looseness: (2 * top.half) / (top.value - bottom.value), cost: 20 } : null;
}

/** Middles of a scale (powers of two) and round decimal numbers. */
function roundedZero(zero: number, tolerance: number): number | null {
  for (let k = 7; k <= 31; k++) if (Math.abs(zero - 2 ** k) <= tolerance) return 2 ** k;
  const power = 10 ** Math.max(1, Math.floor(Math.log10(Math.max(10, Math.abs(zero)))));
  const round = Math.round(zero / power) * power;
  return round !== 0 && Math.abs(zero - round) <= tolerance ? round : null;
}

/** For each sighting the powers of ten with which some frame shows what was typed; null where a sighting has none. */
export function powerOptions(raw: Raw, sightings: readonly Sighting[]): { frame: number; exponent: number }[][] | null {
  const all: { frame: number; exponent: number }[][] = [];
  for (const { value, half, frames } of sightings) {
    const size = Math.abs(value);
    const options: { frame: number; exponent: number }[] = [];
    for (const frame of frames) {
      const x = Math.abs(raw(frame));
      if (!(x < Number.POSITIVE_INFINITY)) continue;
      if (x === 0) {
        if (size <= half) options.push({ frame, exponent: Number.NaN });
        continue;
      }
      if (size <= half) {
        for (let k = -9; k <= 2; k++) if (x * 10 ** k <= half) options.push({ frame, exponent: k });
        continue;
      }
      const exponent = Math.round(Math.log10(size / x));
      if (exponent >= -9 && exponent <= 3 && Math.abs(x * 10 ** exponent - size) <= half)
        options.push({ frame, exponent });
    }
    if (options.length === 0) return null;
    all.push(options);
  }
  return all;
}
