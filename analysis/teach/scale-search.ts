/**
 * From raw numbers to what was typed: one factor for all, a factor and a zero, or powers of ten that some field will choose.
 * Every typed value leaves a span of factors (or of zeros); what lies in all spans explains all that was typed.
 */
import type { Sighting } from "./sighting.ts";

export interface Fit {
  readonly factor: number;
  readonly zero: number;
  /** how far the factor may be off, as a share of itself */
  readonly looseness: number;
  /** the same where it is a round number but no power of ten: another as near may be meant, a full count in place of a round one */
  readonly tolerance: number;
  /** nats */
  readonly cost: number;
}

/** One typed value with the different raw numbers that stood when it was typed. */
export interface Heard {
  readonly value: number;
  readonly half: number;
  readonly raws: readonly number[];
}

export function heard(sightings: readonly Sighting[], raw: (frame: number) => number, sizeOnly: boolean): Heard[] {
  return sightings.map(({ value, half, frames }) => ({
    value: sizeOnly ? Math.abs(value) : value,
    half,
    raws: [...new Set(frames.map(raw))].filter(Number.isFinite),
  }));
}

export interface Span {
  readonly low: number;
  readonly high: number;
}

const mostSpans = 64;
export const anySpan: readonly Span[] = [{ low: Number.NEGATIVE_INFINITY, high: Number.POSITIVE_INFINITY }];
const anyFactor: Span = { low: 0, high: Number.POSITIVE_INFINITY };

/** What is left of spans once one more typed value is asked. */
export function narrowed(
  spans: readonly Span[],
  heard: Heard,
  spanOf: (raw: number, heard: Heard) => Span | null,
): readonly Span[] {
  if (spans.length === 0) return spans;
  const next: Span[] = [];
  for (const raw of heard.raws) {
    const allowed = spanOf(raw, heard);
    if (!allowed) continue;
    for (const span of spans) {
      const low = Math.max(span.low, allowed.low);
      const high = Math.min(span.high, allowed.high);
      if (low <= high) next.push({ low, high });
    }
  }
  return merged(next);
}

/** Spans that touch are one: what every typed value allows is then told exactly, in few spans. */
function merged(spans: Span[]): readonly Span[] {
  if (spans.length < 2) return spans;
  spans.sort((a, b) => a.low - b.low);
  const out: Span[] = [spans[0]!];
  for (const span of spans) {
    const last = out.at(-1)!;
    if (span.low > last.high) out.push(span);
    else if (span.high > last.high) out[out.length - 1] = { low: last.low, high: span.high };
  }
  return out.slice(0, mostSpans);
}

function meetAll(all: readonly Heard[], spanOf: (raw: number, heard: Heard) => Span | null): readonly Span[] {
  let spans = anySpan;
  for (const heard of all) {
    spans = narrowed(spans, heard, spanOf);
    if (spans.length === 0) break;
  }
  return spans;
}

export function factorSpan(x: number, { value, half }: Heard): Span | null {
  if (x === 0) return Math.abs(value) <= half ? anyFactor : null;
  const a = (value - half) / x;
  const b = (value + half) / x;
  const high = Math.max(a, b);
  return high > 0 ? { low: Math.max(0, Math.min(a, b)), high } : null;
}

/** Factors that explain every typed value with a zero that is given; the plainest first. */
export function factorFits(all: readonly Heard[], zero: number): Fit[] {
  const shifted = zero === 0 ? all : all.map((one) => ({ ...one, raws: one.raws.map((raw) => raw - zero) }));
  return fitsIn(meetAll(shifted, factorSpan), zero);
}

export function fitsIn(spans: readonly Span[], zero: number): Fit[] {
  const fits: Fit[] = [];
  for (const span of spans) {
    if (!(span.low > 0 && span.high < Number.POSITIVE_INFINITY)) continue;
    const round = roundFactors(span);
    const plain = round.some(({ cost }) => cost < converterCost);
    for (const fit of plain ? round : [...round, middleOf(span)]) {
      if (!fits.some((other) => other.factor === fit.factor)) fits.push({ ...fit, zero });
    }
  }
  return fits.sort((a, b) => a.cost - b.cost).slice(0, 3);
}

type Factor = Omit<Fit, "zero">;

/** First figures of a step that is no power of ten, with what each costs (nats). */
const plainStarts = [
  ...[5, 2, 2.5, 1.25].map((start) => [start, 4.5] as const),
  ...[3, 4, 6, 8].map((start) => [start, 6] as const),
];

/** nats */
const converterCost = 5.5;

/**
 * Converters divide a reference, or what the display can show, by a power of two: 1.024, 2.048 and 4.096 V, round volts, a
 * supply of 3.3 V, displays of 6000 counts (common practice). The more such steps there are, the narrower the span that may not
 * hold one by chance.
 */
const converterSteps = [
  ...doublingsOf(1, -12, 12)
    .filter(({ doublings }) => Math.abs(doublings) > 3)
    .map((step) => ({ ...step, cost: converterCost, share: 2e-3 })),
  ...doublingsOf(1, -24, -13).map((step) => ({ ...step, cost: 6, share: 1e-3 })),
  ...[3, 3.3].flatMap((full) => doublingsOf(full, -24, -7)).map((step) => ({ ...step, cost: 7, share: 1e-3 })),
];

function doublingsOf(full: number, from: number, to: number): { full: number; doublings: number }[] {
  return Array.from({ length: to - from + 1 }, (_, i) => ({ full, doublings: from + i }));
}

/** Factors in a span that a programmer would most likely have chosen. Costs are nats, our estimate of such habits. */
function roundFactors({ low, high }: Span): Factor[] {
  const out: Factor[] = [];
  const tolerance = (high - low) / (high + low);
  const power = Math.ceil(Math.log10(low) - 1e-9);
  if (within(10 ** power, low, high))
    out.push({
      factor: Number((10 ** power).toPrecision(1)),
      cost: 1.5 + Math.abs(power + 2) * 0.25,
      looseness: 0,
      tolerance: 0,
    });
  const binary = Math.ceil(Math.log2(low) - 1e-9);
  if (binary < 0 && binary >= -24 && within(2 ** binary, low, high))
    out.push({ factor: 2 ** binary, cost: 4, looseness: 0, tolerance });
  for (const { full, doublings, cost, share } of converterSteps) {
    const shift = Math.ceil(Math.log10(low / (full * 2 ** doublings)) - 1e-9);
    const factor = Number((full * 2 ** doublings * 10 ** shift).toPrecision(13));
    if (high < (1 + share) * low && within(factor, low, high)) out.push({ factor, cost, looseness: 0, tolerance });
  }
  for (const [start, cost] of plainStarts) {
    const shift = Math.ceil(Math.log10(low / start) - 1e-9);
    const factor = Number((start * 10 ** shift).toPrecision(4));
    if (within(factor, low, high)) out.push({ factor, cost, looseness: 0, tolerance });
  }
  return out;
}

/** The factor of a span without a round one: a short number where the span is too narrow to hold one by chance, else its middle. */
function middleOf({ low, high }: Span): Factor {
  const looseness = (high - low) / (high + low);
  const middle = (low + high) / 2;
  for (const [digits, cost] of [
    [2, 7.5],
    [3, 10],
  ] as const) {
    const factor = Number(middle.toPrecision(digits));
    if (within(factor, low, high) && looseness < 0.4 * 10 ** -digits)
      return { factor, cost, looseness: 0, tolerance: looseness };
  }
  return {
    factor: middle,
    cost: Math.min(12.5, Math.log(27 / Math.max(looseness, 1e-9)) + 0.5),
    looseness,
    tolerance: looseness,
  };
}

const within = (x: number, low: number, high: number): boolean => x >= low * (1 - 1e-9) && x <= high * (1 + 1e-9);

/** A zero is told from a factor only by values that lie apart. */
const fewestForZero = 3;
const zeroFactors = [1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 1e-1, 1, 2 ** -10, 2 ** -11, 2 ** -12, 2 ** -16];

/**
 * Factor and zero for converters and counts that do not rest at nought: a round factor with whatever zero all values share,
 * or a zero at a place where programmers put one, with whatever factor.
 * @param widest largest raw number that the coding can hold
 */
export function zeroedFits(all: readonly Heard[], widest: number): Fit[] {
  const values = all.map((one) => one.value);
  const spread = Math.max(...values) - Math.min(...values);
  if (all.length < fewestForZero || spread < 40 * Math.max(...all.map((one) => one.half))) return [];
  const out: Fit[] = [];
  for (const factor of zeroFactors) {
    const spans = meetAll(all, (x, { value, half }) => ({
      low: x - (value + half) / factor,
      high: x - (value - half) / factor,
    }));
    for (const span of spans) {
      const zero = roundZero(span);
      if (zero !== null)
        out.push({
          factor,
          zero: zero.zero,
          looseness: 0,
          tolerance: 0,
          cost: (factor > 0.9e-6 && isPower(factor) ? 2.5 : 5) + zero.cost,
        });
    }
  }
  for (const zero of usualZeros(widest)) {
    for (const fit of factorFits(all, zero)) out.push({ ...fit, cost: fit.cost + 3 });
  }
  return out.sort((a, b) => a.cost - b.cost).slice(0, 3);
}

export const isPower = (factor: number): boolean =>
  Math.abs(Math.log10(factor) - Math.round(Math.log10(factor))) < 1e-9;

/** Half and a quarter of what the coding holds. */
const usualZeros = (widest: number): number[] => [(widest + 1) / 2, (widest + 1) / 4];

/** The plainest whole number in a span other than nought: a power of two, else the one with the fewest digits. */
function roundZero({ low, high }: Span): { zero: number; cost: number } | null {
  if (low <= 0 && high >= 0) return null;
  for (let k = 3; k <= 40; k++) if (2 ** k >= low && 2 ** k <= high) return { zero: 2 ** k, cost: 3 };
  for (let power = 12; power >= 0; power--) {
    const zero = Math.ceil(low / 10 ** power) * 10 ** power;
    if (zero > high || zero === 0) continue;
    const digits = String(Math.abs(zero / 10 ** power)).length;
    return { zero, cost: 2 + 2.3 * digits + 0.3 * power };
  }
  return null;
}

/** Whether some power of ten makes this size of a raw number. */
export function hasPower(raw: number, size: number, half: number): boolean {
  const x = Math.abs(raw);
  if (size <= half) return x * 1e-9 <= half;
  if (x === 0) return false;
  const exponent = Math.round(Math.log10(size / x));
  return exponent >= -9 && exponent <= 3 && Math.abs(x * 10 ** exponent - size) <= half;
}

export interface PowerOption {
  readonly frame: number;
  /** NaN: it does not tell, for nought is nought in every range */
  readonly exponent: number;
}

/** For each sighting the powers of ten with which some frame shows what was typed; null where a sighting has none. */
export function powerOptions(raw: (frame: number) => number, sightings: readonly Sighting[]): PowerOption[][] | null {
  const all: PowerOption[][] = [];
  for (const { value, half, frames } of sightings) {
    const size = Math.abs(value);
    const options: PowerOption[] = [];
    for (const frame of frames) {
      const x = Math.abs(raw(frame));
      if (!(x < Number.POSITIVE_INFINITY)) continue;
      if (size <= half) {
        options.push({ frame, exponent: Number.NaN });
      } else if (x > 0) {
        const exponent = Math.round(Math.log10(size / x));
        if (exponent >= -9 && exponent <= 3 && Math.abs(x * 10 ** exponent - size) <= half)
          options.push({ frame, exponent });
      }
    }
    if (options.length === 0) return null;
    // Display counts are what a range goes with: a raw number of just these is the likeliest.
    const counts = Math.round(Math.log10(2 * half));
    options.sort((a, b) => Math.abs(a.exponent - counts) - Math.abs(b.exponent - counts));
    all.push(options);
  }
  return all;
}
