/**
 * A recipe: how one meter's bytes become readings, as a small document that can be kept and passed on.
 * Nothing in it names a maker. `readStream` reads a whole recording with it, `StreamReader` a live meter.
 */
import * as v from "valibot";
import { Problem } from "../problem.ts";
import { hexadecimalFigure } from "./checksum.ts";
import { type Chunk, FrameKindSchema, Framer, FramingSchema, type Sorted } from "./framing.ts";
import { decimal, NumberCodingSchema, reader } from "./number-coding.ts";
import { textNumber } from "./text-number.ts";

export const MeterUnitSchema = v.picklist(["V", "mV", "A", "mA"]);
export type MeterUnit = v.InferOutput<typeof MeterUnitSchema>;

const byteAt = v.pipe(v.number(), v.integer(), v.minValue(0), v.maxValue(4095));
/** some bits of one byte: a flag, a range, a kind of measurement */
export const BitsSchema = v.object({
  at: byteAt,
  shift: v.pipe(v.number(), v.integer(), v.minValue(0), v.maxValue(7)),
  bits: v.pipe(v.number(), v.integer(), v.minValue(1), v.maxValue(8)),
});
export type Bits = v.InferOutput<typeof BitsSchema>;

const FlagSchema = v.object({
  ...BitsSchema.entries,
  equals: v.pipe(v.number(), v.integer(), v.minValue(0), v.maxValue(255)),
});
export type Flag = v.InferOutput<typeof FlagSchema>;

export const RecipeSchema = v.object({
  format: v.literal("recipe/1"),
  label: v.optional(v.string()),
  /** what to send to be given a reading, and how often */
  ask: v.optional(v.object({ base64: v.string(), everySeconds: v.pipe(v.number(), v.gtValue(0)) })),
  framing: FramingSchema,
  /** the frame that carries the reading */
  frame: FrameKindSchema,
  /** frames that carry none; anything else is damaged, or passed over where `strangers` says so */
  others: v.array(FrameKindSchema),
  strangers: v.optional(v.literal("ignored")),
  number: NumberCodingSchema,
  /** the number is negative where this flag stands so */
  negative: v.optional(FlagSchema),
  /** value = (raw − zero) · factor, then · 10^exponent of the table's entry; a state that is not in the table is not read */
  scale: v.object({
    factor: v.number(),
    zero: v.optional(v.number()),
    range: v.optional(
      v.object({ field: BitsSchema, exponents: v.record(v.string(), v.pipe(v.number(), v.integer())) }),
    ),
  }),
  /** what the value is in: always the same, told by a field of the frame, or written behind the number */
  unit: v.union([
    MeterUnitSchema,
    v.literal("written"),
    v.object({ field: BitsSchema, units: v.record(v.string(), MeterUnitSchema) }),
  ]),
  /** the unit where none is written */
  unitOtherwise: v.optional(MeterUnitSchema),
  overRange: v.object({
    flags: v.array(FlagSchema),
    /** raw numbers that mean it */
    codes: v.array(v.number()),
    /** figures that are no digits mean it */
    unreadable: v.optional(v.boolean()),
  }),
  /** raw numbers that mean that there is no reading just now */
  absent: v.optional(v.array(v.number())),
  /** the display was held: the reading is marked, not left out */
  hold: v.optional(FlagSchema),
});
export type Recipe = v.InferOutput<typeof RecipeSchema>;

export type Reading =
  | { seconds: number; value: number; unit: MeterUnit; held?: true }
  | { seconds: number; overRange: true }
  | { seconds: number; damaged: true };

/**
 * A recipe from outside, checked.
 * @throws {Problem} naming the field, what was expected there and what stood there
 */
export function checkRecipe(document: unknown): Recipe {
  const format = (document as { format?: unknown } | null)?.format;
  if (typeof format === "string" && format !== "recipe/1") {
    throw new Problem(`a recipe of format "${format}" cannot be read; this program reads "recipe/1"`, {
      field: "format",
    });
  }
  const result = v.safeParse(RecipeSchema, document);
  if (result.success) return result.output;
  const issue = result.issues[0];
  const field = v.getDotPath(issue) ?? undefined;
  throw new Problem(`expected ${issue.expected ?? "another value"}; got ${issue.received}`, field ? { field } : {});
}

/** Reads a meter as its bytes come in: each push gives the readings that it completed. */
export class StreamReader {
  readonly #framer: Framer;
  readonly #read: (frame: Sorted) => Reading | null;

  constructor(recipe: Recipe) {
    this.#framer = new Framer(recipe.framing, [recipe.frame, ...recipe.others]);
    this.#read = frameReader(recipe);
  }

  push(chunk: Chunk): Reading[] {
    return this.#readAll(this.#framer.push(chunk));
  }

  end(): Reading[] {
    return this.#readAll(this.#framer.end());
  }

  #readAll(frames: readonly Sorted[]): Reading[] {
    return frames.map((frame) => this.#read(frame)).filter((reading) => reading !== null);
  }
}

/**
 * A whole recording read with a recipe.
 * @param bytes as they arrived, in order, cut anywhere; `seconds` on any one clock
 * @returns one reading a frame, in order; a damaged stretch counts once; frames without a reading are left out
 */
export function readStream(recipe: Recipe, bytes: readonly Chunk[]): Reading[] {
  const stream = new StreamReader(recipe);
  const readings = bytes.flatMap((chunk) => stream.push(chunk));
  readings.push(...stream.end());
  return readings;
}

/** What a field of bits says in a frame. */
export const bitsOf = (field: Bits, frame: Uint8Array): number =>
  (frame[field.at]! >> field.shift) & ((1 << field.bits) - 1);
const raised = (flag: Flag, frame: Uint8Array): boolean => bitsOf(flag, frame) === flag.equals;

function frameReader(recipe: Recipe): (frame: Sorted) => Reading | null {
  const raw = reader(recipe.number);
  const unit = unitReader(recipe);
  const { flags, codes, unreadable } = recipe.overRange;
  return ({ seconds, bytes, kind }) => {
    if (kind > 0) return null;
    if (kind < 0) return recipe.strangers ? null : { seconds, damaged: true };
    const frame =
      recipe.frame.hexadecimalFrom === undefined ? bytes : fromHexadecimal(bytes, recipe.frame.hexadecimalFrom);
    if (frame === null) return { seconds, damaged: true };
    if (flags.some((flag) => raised(flag, frame))) return { seconds, overRange: true };
    const number = raw(frame);
    if (codes.includes(number) || Math.abs(number) === Number.POSITIVE_INFINITY) return { seconds, overRange: true };
    if (recipe.absent?.includes(number)) return null;
    if (Number.isNaN(number)) return noNumber(recipe, seconds, unreadable);
    const value = scaled(recipe, number, frame);
    const shown = unit(frame);
    if (value === null || shown === null) return { seconds, damaged: true };
    const held = recipe.hold && raised(recipe.hold, frame) ? { held: true as const } : {};
    return { seconds, value, unit: shown, ...held };
  };
}

/** A float that is no number is how firmware says over-range; a line without one is damaged, unless its check says that it is whole. */
function noNumber(recipe: Recipe, seconds: number, unreadable: boolean | undefined): Reading | null {
  if (unreadable || recipe.number.coding === "float") return { seconds, overRange: true };
  const whole = recipe.number.coding === "text" && recipe.frame.checks.length > 0;
  return whole || recipe.strangers ? null : { seconds, damaged: true };
}

function scaled({ scale, negative }: Recipe, number: number, frame: Uint8Array): number | null {
  const sign = negative && raised(negative, frame) ? -1 : 1;
  const counts = sign * (number - (scale.zero ?? 0));
  const exponent = scale.range ? scale.range.exponents[String(bitsOf(scale.range.field, frame))] : 0;
  if (exponent === undefined) return null;
  return times(counts, scale.factor, exponent) + 0;
}

/** counts · factor · 10^exponent without the dust of binary fractions, where the factor is a power of ten. */
export function times(counts: number, factor: number, exponent: number): number {
  const power = Math.round(Math.log10(Math.abs(factor)));
  const isPower = Math.abs(factor / 10 ** power - 1) < 1e-12;
  return isPower ? decimal(counts, power + exponent) : decimal(counts * factor, exponent);
}

function unitReader({ unit, unitOtherwise, number }: Recipe): (frame: Uint8Array) => MeterUnit | null {
  if (unit === "written") {
    return (frame) => {
      if (number.coding !== "text") return unitOtherwise ?? null;
      const { unit: written } = textNumber(number, String.fromCharCode(...frame));
      return v.is(MeterUnitSchema, written) ? written : (unitOtherwise ?? null);
    };
  }
  if (typeof unit === "string") return () => unit;
  return (frame) => unit.units[String(bitsOf(unit.field, frame))] ?? null;
}

/** Printed bytes put together: what stands before `from` is kept, pairs of figures become bytes; null where one is no figure. */
export function fromHexadecimal(frame: Uint8Array, from: number): Uint8Array | null {
  const pairs = (frame.length - from) >> 1;
  const out = new Uint8Array(from + pairs);
  out.set(frame.subarray(0, from));
  for (let i = 0; i < pairs; i++) {
    const high = hexadecimalFigure(frame[from + 2 * i]!);
    const low = hexadecimalFigure(frame[from + 2 * i + 1]!);
    if (high < 0 || low < 0) return null;
    out[from + i] = high * 16 + low;
  }
  return out;
}
