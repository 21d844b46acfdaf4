/**
 * A number written as text in a line, as meters, bench instruments and home-made loggers print it:
 * a line goes in; the number, or that it is over-range, and the unit written behind it come out.
 */
import * as v from "valibot";

export const TextNumberSchema = v.object({
  coding: v.literal("text"),
  /** the number follows this text */
  after: v.optional(v.pipe(v.string(), v.minLength(1))),
  /** or stands in this cell between separators, counted from 0 */
  cell: v.optional(
    v.object({ separator: v.pipe(v.string(), v.length(1)), index: v.pipe(v.number(), v.integer(), v.minValue(0)) }),
  ),
  /** or is this one of the line's numbers, counted from 0 */
  ordinal: v.optional(v.pipe(v.number(), v.integer(), v.minValue(0))),
  /** only these columns of the frame are text: from the first up to, not with, the second */
  columns: v.optional(v.tuple([v.pipe(v.number(), v.integer(), v.minValue(0)), v.pipe(v.number(), v.integer())])),
  /** how many numbers such a line holds; another count means that lines ran together */
  numbers: v.optional(v.pipe(v.number(), v.integer(), v.minValue(1))),
  decimalComma: v.optional(v.boolean()),
});
export type TextNumber = v.InferOutput<typeof TextNumberSchema>;

export interface WrittenNumber {
  /** NaN: none there. ±Infinity: over-range. */
  readonly number: number;
  /** V, mV, A, mA or whatever letters stand right behind it; empty where none do */
  readonly unit: string;
}

const nothing: WrittenNumber = { number: Number.NaN, unit: "" };
const figure = String.raw`(?:[-+][ ]{0,3})?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d{1,3})?`;
/** What instruments print where a value does not fit; OVLOAD, OVFLOW and O.L as in reference/open-formats.md section 1, the rest common practice. */
const over = String.raw`[-+]?(?:[O0]\.?L(?:OAD|D)?|OV(?:ER|LOAD|FLOW|LD|L)?[A-Z]*|[Ii]nf(?:inity)?|INF|[Nn]a[Nn]|NAN|null|-{2,}|\?{2,}|\*{2,})`;
/**
 * A mark is looked for before a figure, for "0.L" is none, nor is its nought where blanks or a sign stand before it. A figure
 * may not go on from a letter or another figure, nor break off in its exponent: the 1 of "CH1" is a name.
 */
const token = new RegExp(
  String.raw`(?<![A-Za-z0-9_.])(?:(${over})(?![A-Za-z0-9])|(${figure})(?![.\dL]|[eE](?![A-Za-z])))`,
  "g",
);
const unitBehind = /^["']?\s{0,3}(?:[DA]C\s?)?(m|u|µ|k)?(V|A|volts?|amps?)(?![a-z])/;
/** alone in the next cell, with the kind of current before or behind it */
const unitInNextCell = /^["']?\s{0,3}[,;\t|]\s{0,3}(?:[DA]C\s?)?(m|u|µ|k)?(V|A)\s?(?:[DA]C)?\s*(?=[,;\t|*]|$)/;

interface Token {
  readonly at: number;
  readonly end: number;
  readonly number: number;
}

/** |x| from 9.9e37 up stands for no reading or over-range (SCPI-1999, reference/open-formats.md section 1); 1e30 leaves room for sloppy printers. */
const sentinel = 1e30;

/** All numbers and over-range marks of a line, in order. */
export function tokens(line: string, decimalComma = false): Token[] {
  const found: Token[] = [];
  for (const match of line.matchAll(token)) {
    const end = match.index + match[0].length;
    found.push({
      at: match.index,
      end,
      number: match[2] === undefined ? Number.POSITIVE_INFINITY : parse(match[2], decimalComma),
    });
  }
  return found;
}

function parse(text: string, decimalComma: boolean): number {
  const plain = text.replaceAll(" ", "");
  if (plain.includes(",") && !decimalComma) return Number(plain.slice(0, plain.indexOf(",")));
  const number = Number(decimalComma ? plain.replace(",", ".") : plain);
  return withoutSentinel(number);
}

/** What is larger than any reading says that there is none. */
export const withoutSentinel = (number: number): number =>
  Math.abs(number) >= sentinel ? Math.sign(number) * Number.POSITIVE_INFINITY : number;

/** @example textNumber({ coding: "text", ordinal: 0 }, "DC  12.47 V") // { number: 12.47, unit: "V" } */
export function textNumber(coding: TextNumber, whole: string): WrittenNumber {
  const line = coding.columns ? whole.slice(...coding.columns) : whole;
  const searched = coding.decimalComma ? line : line.replaceAll(",", ", ");
  if (coding.numbers !== undefined && tokens(searched, coding.decimalComma).length !== coding.numbers) return nothing;
  const rest =
    coding.after !== undefined ? behind(line, coding.after) : coding.cell ? cellOf(line, coding.cell) : searched;
  if (rest === null) return nothing;
  const found = tokens(coding.after !== undefined || coding.cell ? rest : searched, coding.decimalComma);
  const chosen = found[coding.ordinal ?? 0];
  if (!chosen || (coding.after !== undefined && /[A-Za-z0-9]/.test(rest.slice(0, chosen.at)))) return nothing;
  const behindCell = coding.cell ? rowFrom(line, coding.cell).slice(rest.length) : "";
  return { number: chosen.number, unit: unitOf(rest.slice(chosen.end) + behindCell) };
}

function behind(line: string, label: string): string | null {
  const at = line.indexOf(label);
  return at < 0 ? null : line.slice(at + label.length).replaceAll(",", ", ");
}

function cellOf(line: string, { separator, index }: NonNullable<TextNumber["cell"]>): string | null {
  return line.split(separator)[index] ?? null;
}

/** From the cell's beginning to the end of the line. */
const rowFrom = (line: string, { separator, index }: NonNullable<TextNumber["cell"]>): string =>
  line.split(separator).slice(index).join(separator);

/** The unit written behind a number, in the program's spelling. */
function unitOf(text: string): string {
  const match = unitBehind.exec(text) ?? unitInNextCell.exec(text);
  if (!match) return "";
  return `${match[1] ?? ""}${match[2]!.startsWith("v") || match[2] === "V" ? "V" : "A"}`;
}
