/**
 * How a number stands in a frame of bytes: an integer, decimal digits or a float put together from pieces of bytes,
 * figures of a seven-segment glass, or text. A frame goes in, the raw number comes out, before scale and sign.
 */
import * as v from "valibot";
import { type TextNumber, TextNumberSchema, textNumber, withoutSentinel } from "./text-number.ts";

const byteIndex = v.pipe(v.number(), v.integer(), v.minValue(0), v.maxValue(4095));
/** [byte from the frame's start, bits to shift down, bits to take]; the most significant piece stands first */
export const PieceSchema = v.tuple([
  byteIndex,
  v.pipe(v.number(), v.integer(), v.minValue(0), v.maxValue(7)),
  v.pipe(v.number(), v.integer(), v.minValue(1), v.maxValue(8)),
]);
export type Piece = v.InferOutput<typeof PieceSchema>;

const pieces = v.pipe(v.array(PieceSchema), v.minLength(1), v.maxLength(16));
/** where a float's bytes stand, the byte with its sign first */
const places = v.pipe(v.array(byteIndex), v.minLength(2), v.maxLength(8));

export const IntegerSchema = v.object({
  coding: v.literal("integer"),
  pieces,
  form: v.picklist(["unsigned", "twos-complement", "sign-magnitude", "middle-is-zero"]),
  /** laid over each piece before it is read */
  mask: v.optional(v.array(v.pipe(v.number(), v.integer(), v.minValue(0), v.maxValue(255)))),
});
export const DigitsSchema = v.object({ coding: v.literal("digits"), pieces });
export const FloatSchema = v.object({
  coding: v.literal("float"),
  /** IEEE 754 binary32 or binary64, IEEE 11073-20601 FLOAT (4 bytes) or SFLOAT (2 bytes) */
  layout: v.picklist(["ieee-754", "ieee-11073"]),
  places,
});
export const SegmentsSchema = v.object({
  coding: v.literal("segments"),
  /** for each figure from the left, the pieces that hold its eight bits */
  figures: v.pipe(v.array(pieces), v.minLength(1), v.maxLength(10)),
  /** bits of a figure, point left out → what it shows: a digit, a blank, a minus or a letter */
  shapes: v.record(v.string(), v.pipe(v.string(), v.length(1))),
  /** the bit that lights the point, and on which side of its figure the point stands; null: no point */
  point: v.nullable(v.object({ bit: v.pipe(v.number(), v.integer()), side: v.picklist(["left", "right"]) })),
});
export const NumberCodingSchema = v.variant("coding", [
  IntegerSchema,
  DigitsSchema,
  FloatSchema,
  SegmentsSchema,
  TextNumberSchema,
]);
export type NumberCoding = v.InferOutput<typeof NumberCodingSchema>;
export type IntegerCoding = v.InferOutput<typeof IntegerSchema>;
export type SegmentsCoding = v.InferOutput<typeof SegmentsSchema>;

/** NaN: no number stands there. Infinity: it says that there is too much. */
export type RawNumber = number;

/** A coding made ready: from a frame's bytes to its raw number. */
export function reader(coding: NumberCoding): (frame: Uint8Array) => RawNumber {
  switch (coding.coding) {
    case "integer":
      return integerReader(coding);
    case "digits":
      return digitsReader(coding.pieces);
    case "float":
      return coding.layout === "ieee-754" ? floatReader(coding.places) : medicalFloatReader(coding.places);
    case "segments":
      return segmentsReader(coding);
    case "text":
      return textReader(coding);
  }
}

function integerReader({ pieces, form, mask }: IntegerCoding): (frame: Uint8Array) => number {
  const top = 2 ** pieces[0]![2];
  return (frame) => {
    let value = 0;
    let sign = 1;
    for (let i = 0; i < pieces.length; i++) {
      const [at, shift, width] = pieces[i]!;
      let part = ((frame[at]! ^ (mask?.[i] ?? 0)) >> shift) & ((1 << width) - 1);
      // The top piece alone carries the sign, so that wide integers keep their low digits.
      if (i === 0 && form === "twos-complement" && part >= top / 2) part -= top;
      if (i === 0 && form === "middle-is-zero") part -= top / 2;
      if (i === 0 && form === "sign-magnitude" && part >= top / 2) {
        part -= top / 2;
        sign = -1;
      }
      value = value * (1 << width) + part;
    }
    return sign * value;
  };
}

function digitsReader(pieces: readonly Piece[]): (frame: Uint8Array) => number {
  return (frame) => {
    let value = 0;
    for (const [at, shift, width] of pieces) {
      const digit = (frame[at]! >> shift) & ((1 << width) - 1);
      if (digit > 9) return Number.NaN;
      value = value * 10 + digit;
    }
    return value;
  };
}

const scratch = new DataView(new ArrayBuffer(8));

function floatReader(places: readonly number[]): (frame: Uint8Array) => number {
  return (frame) => {
    for (let i = 0; i < places.length; i++) scratch.setUint8(i, frame[places[i]!]!);
    return withoutSentinel(places.length === 8 ? scratch.getFloat64(0) : scratch.getFloat32(0));
  };
}

/** IEEE 11073-20601: two's complement exponent of ten above a two's complement mantissa; the five special codes are no numbers. */
function medicalFloatReader(places: readonly number[]): (frame: Uint8Array) => number {
  const short = places.length === 2;
  const mantissaSpan = short ? 0x1000 : 0x1000000;
  const exponentSpan = short ? 16 : 256;
  const half = mantissaSpan / 2;
  return (frame) => {
    let code = 0;
    for (const place of places) code = code * 256 + frame[place]!;
    let exponent = Math.floor(code / mantissaSpan);
    if (exponent >= exponentSpan / 2) exponent -= exponentSpan;
    const unsigned = code % mantissaSpan;
    if (exponent === 0 && unsigned === half - 2) return Number.POSITIVE_INFINITY;
    if (exponent === 0 && unsigned === half + 2) return Number.NEGATIVE_INFINITY;
    if (exponent === 0 && unsigned >= half - 1 && unsigned <= half + 1) return Number.NaN;
    return decimal(unsigned >= half ? unsigned - mantissaSpan : unsigned, exponent);
  };
}

/** A whole number times a power of ten, as exact as the nearest double: 1247, −2 → 12.47. */
export function decimal(whole: number, exponent: number): number {
  return exponent < 0 ? whole / 10 ** -exponent : whole * 10 ** exponent;
}

function segmentsReader({ figures, shapes, point }: SegmentsCoding): (frame: Uint8Array) => number {
  const pointMask = point ? 1 << point.bit : 0;
  return (frame) => {
    let text = "";
    for (const [i, pieces] of figures.entries()) {
      let bits = 0;
      for (const [at, shift, width] of pieces) bits = (bits << width) | ((frame[at]! >> shift) & ((1 << width) - 1));
      const shape = shapes[String(bits & ~pointMask)];
      if (shape === undefined) return Number.NaN;
      // What would be a point left of everything is the place of some other sign.
      const pointed = (bits & pointMask) !== 0 && !(i === 0 && point?.side === "left");
      text += pointed ? (point?.side === "left" ? `.${shape}` : `${shape}.`) : shape;
    }
    return figuresToNumber(text);
  };
}

/** Blanks before the first digit count for nothing; letters make it over-range. */
function figuresToNumber(text: string): number {
  const trimmed = text.replace(/^[ .]*(?=[\d.-])/, (lead) => (lead.includes(".") ? "." : "")).trim();
  if (/^-?\d*\.?\d+$|^-?\d+\.?$/.test(trimmed)) return Number(trimmed);
  return /[A-Za-z]/.test(text) ? Number.POSITIVE_INFINITY : Number.NaN;
}

const latin = (frame: Uint8Array): string => String.fromCharCode(...frame);

function textReader(coding: TextNumber): (frame: Uint8Array) => number {
  return (frame) => textNumber(coding, latin(frame)).number;
}
