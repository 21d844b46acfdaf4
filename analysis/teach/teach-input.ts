/** What a meter is taught from (formats.md section 4): bytes as they arrived, and what the display showed. */
import * as v from "valibot";
import { Problem } from "../problem.ts";
import type { Chunk } from "./framing.ts";
import { type MeterUnit, MeterUnitSchema } from "./recipe.ts";

const seconds = v.pipe(v.number(), v.finite());
export const TeachInputSchema = v.object({
  format: v.literal("teach/1"),
  bytes: v.array(v.object({ seconds, base64: v.string() })),
  typed: v.array(
    v.union([
      v.object({ seconds, overRange: v.literal(true) }),
      v.object({ seconds, value: v.pipe(v.number(), v.finite()), unit: MeterUnitSchema }),
    ]),
  ),
});
export type TeachInput = v.InferOutput<typeof TeachInputSchema>;

/** A typed number with the step of the display it was read from. */
export interface TypedNumber {
  readonly seconds: number;
  /** as shown, in `unit` */
  readonly shown: number;
  readonly unit: MeterUnit;
  /** V or A */
  readonly base: number;
  /** largest step that the display can have had, in `unit` */
  readonly step: number;
}

export interface Lesson {
  readonly chunks: readonly Chunk[];
  readonly numbers: readonly TypedNumber[];
  readonly overRangeSeconds: readonly number[];
}

/**
 * @throws {Problem} naming the field that is not as formats.md has it
 */
export function checkLesson(document: unknown): Lesson {
  const format = (document as { format?: unknown } | null)?.format;
  if (typeof format === "string" && format !== "teach/1") {
    throw new Problem(`a lesson of format "${format}" cannot be read; this program reads "teach/1"`, {
      field: "format",
    });
  }
  const result = v.safeParse(TeachInputSchema, document);
  if (!result.success) throw lessonProblem(document, result.issues[0]);
  const { bytes, typed } = result.output;
  const chunks = bytes.map(({ seconds, base64 }, i) => ({ seconds, bytes: fromBase64(base64, `bytes.${i}.base64`) }));
  for (let i = 1; i < chunks.length; i++) {
    if (chunks[i]!.seconds < chunks[i - 1]!.seconds) {
      const [later, earlier] = [chunks[i - 1]!.seconds, chunks[i]!.seconds];
      throw new Problem(`bytes should stand in the order in which they came; got ${earlier} s after ${later} s`, {
        field: `bytes.${i}.seconds`,
      });
    }
  }
  const numbers = typed.flatMap((entry) => ("value" in entry ? [entry] : []));
  return {
    chunks,
    numbers: numbers.map((entry) => ({
      seconds: entry.seconds,
      shown: entry.value,
      unit: entry.unit,
      base: toBase(entry.value, entry.unit),
      step: stepOf(entry, numbers),
    })),
    overRangeSeconds: typed.flatMap((entry) => ("overRange" in entry ? [entry.seconds] : [])),
  };
}

function lessonProblem(document: unknown, issue: v.BaseIssue<unknown>): Problem {
  if (typeof document !== "object" || document === null) {
    return new Problem('a lesson should be an object with "format", "bytes" and "typed"');
  }
  const field = v.getDotPath(issue) ?? "";
  if (/^typed\.\d+$/.test(field)) {
    return new Problem('expected seconds with value and unit (V, mV, A or mA), or with "overRange": true', { field });
  }
  return new Problem(`expected ${issue.expected ?? "another value"}; got ${issue.received}`, field ? { field } : {});
}

export const isMilli = (unit: MeterUnit): boolean => unit.startsWith("m");
export const toBase = (value: number, unit: MeterUnit): number => (isMilli(unit) ? value / 1000 : value);
export const baseUnit = (unit: MeterUnit): "V" | "A" => (unit.endsWith("V") ? "V" : "A");

function decimals(value: number): number {
  const text = String(value);
  const [mantissa, exponent] = text.split("e");
  const dot = mantissa!.indexOf(".");
  return Math.max(0, (dot < 0 ? 0 : mantissa!.length - dot - 1) - Number(exponent ?? 0));
}

/**
 * A number loses its trailing zeros on the way here, so its own decimals are the fewest that the display can have had.
 * Another value in the same unit that is as large or larger shows that this range has at least its decimals.
 */
function stepOf(entry: { value: number; unit: MeterUnit }, all: readonly { value: number; unit: MeterUnit }[]): number {
  const alike = all.filter((other) => other.unit === entry.unit && Math.abs(other.value) >= Math.abs(entry.value));
  return 10 ** -Math.max(...alike.map((other) => decimals(other.value)));
}

/** So few counts of the display fit nearly any number. */
const tellingCounts = 10;

/** Of several units typed one whose values were all next to nought: they tell that it is shown, and not how its numbers are scaled. */
export function hardlyTyped({ numbers }: Lesson): MeterUnit | null {
  const most = new Map<MeterUnit, number>();
  for (const { unit, shown, step } of numbers) most.set(unit, Math.max(most.get(unit) ?? 0, Math.abs(shown) / step));
  if (most.size < 2) return null;
  return [...most].find(([, counts]) => counts < tellingCounts)?.[0] ?? null;
}

const alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
const sixBits = new Int8Array(128).fill(-1);
for (let i = 0; i < 64; i++) sixBits[alphabet.charCodeAt(i)] = i;

/** Base 64 of RFC 4648, section 4 (2006); the padding may be left out. */
function fromBase64(text: string, field: string): Uint8Array {
  const body = text.replace(/={1,2}$/, "");
  if (body.length % 4 === 1)
    throw new Problem("expected base 64, four letters for three bytes; it is cut short", { field });
  const out = new Uint8Array(Math.floor((body.length * 6) / 8));
  let held = 0;
  let bits = 0;
  let filled = 0;
  for (let i = 0; i < body.length; i++) {
    const value = sixBits[body.charCodeAt(i)] ?? -1;
    if (value < 0) throw new Problem(`expected base 64 (A to Z, a to z, 0 to 9, + and /); got "${body[i]}"`, { field });
    held = ((held << 6) | value) & 0xffff;
    bits += 6;
    if (bits >= 8) {
      bits -= 8;
      out[filled++] = (held >> bits) & 0xff;
    }
  }
  return out;
}
