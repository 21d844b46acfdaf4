/**
 * One cell of a log read as a number: sign, thousands, decimal sign, exponent, the unit beside it,
 * and the marks by which meters say that they have no number (over-range, empty).
 */
import { parseUnit, type Unit } from "./unit.ts";

export type Decimal = "." | ",";

export type NumberCell =
  | {
      readonly kind: "number";
      readonly value: number;
      /** decimals written less the exponent: 12.61 → 2, 1.261E+01 → 1 */
      readonly decimals: number;
      /** the unit beside the number, or null */
      readonly unit: Unit | null;
      /** digits in groups of three: read, though it could be two numbers that a wrong delimiter joined */
      readonly grouped: boolean;
    }
  | { readonly kind: "gap"; readonly reason: string }
  | { readonly kind: "unreadable" };

/** The decimal sign in force: a log that begins with whole numbers shows it only later. */
export interface DecimalSign {
  sign: Decimal;
  /** whether a number with decimals, or the job, has settled it */
  settled: boolean;
}

/** A cell read by the sign in force, which the first number with decimals settles. */
export function parseSettling(text: string, decimal: DecimalSign): NumberCell {
  const cell = parseNumberCell(text, decimal.sign);
  if (decimal.settled) return cell;
  const doubtful = cell.kind === "unreadable" || (cell.kind === "number" && cell.grouped);
  const otherSign = decimal.sign === "." ? "," : ".";
  const other = doubtful ? parseNumberCell(text, otherSign) : cell;
  const read = other.kind === "number" && !other.grouped ? other : cell;
  if (read.kind === "number" && read.decimals > 0) {
    if (read !== cell) decimal.sign = otherSign;
    decimal.settled = true;
  }
  return read;
}

const unreadable: NumberCell = { kind: "unreadable" };
const empty: NumberCell = { kind: "gap", reason: "empty cell" };
const overRange: NumberCell = { kind: "gap", reason: "over-range mark" };
const noNumberMark: NumberCell = { kind: "gap", reason: "mark for no number" };

/**
 * At and above this a number is a meter's sign for overload: SCPI-1999 has 9.9E37 for infinity and 9.91E37 for
 * no number; the bound of 1E30 is the convention seen in instrument code (open-formats, section 1).
 */
const sentinel = 1e30;

const numberPattern =
  /^([+\-−–]?)\s?((?:\d(?:[\d.,'’]|[ \u00a0\u2009\u202f](?=\d{3}(?!\d)))*)|(?:[.,]\d+))(?:[eE]([+-]?\d{1,5}))?(.*)$/s;
const overRangePattern =
  /^[-+<>±]?\s*(?:\.?[o0][\s/]?\.?l\.?(?:oad|d)?|ovl?d?|ovload|ovflow|ovrng|ofl|over|over[- ]?(?:load|range|flow)|inf|infinity|∞|1\.#inf|out of range|open)$/i;
const noNumberPattern = /^[-+]?(?:nan|n\/?a|n\.a\.|#n\/?a|null|none|nil|no ?data|invalid|1\.#(?:ind|qnan|snan)\d*)$/i;
const dashes = /^[-–—_.*?\s]+$/;

/**
 * @param decimal which sign stands before the decimals; the other one may group thousands
 * @example parseNumberCell("1 261,5 mV", ",") // { kind: "number", value: 1261.5, decimals: 1, unit: mV, grouped: true }
 * @example parseNumberCell("-OL", ".") // { kind: "gap", reason: "over-range mark" }
 */
export function parseNumberCell(text: string, decimal: Decimal): NumberCell {
  const cell = text.trim();
  if (cell === "") return empty;
  const match = numberPattern.exec(cell);
  return match === null ? (behindFunction(cell, decimal) ?? gapOf(cell)) : (numberOf(match, decimal) ?? gapOf(cell));
}

const functionPattern = /^((?:[mµμu]?[VA]|AC|DC)[A-Z~=⎓ ]{0,8}?)\s*[:=]?\s+(?=[+\-−]?\d)(.*)$/is;

/** `DC 12.61 V`, `DCV 12.61`, `mV DC: 612.3`: what the dial was set to stands before the number. */
function behindFunction(cell: string, decimal: Decimal): NumberCell | null {
  const [, dial = "", text = ""] = functionPattern.exec(cell) ?? [];
  const match = dial === "" ? null : numberPattern.exec(text);
  const number = match === null ? null : numberOf(match, decimal);
  // `A 1` and `V 2` name channels.
  if (number?.kind !== "number" || !text.includes(decimal)) return null;
  const unit = number.unit ?? parseUnit(dial);
  const alternating = /^\s*AC/i.test(dial) || parseUnit(dial)?.alternating === true;
  if (unit === null || (unit.quantity !== "volts" && unit.quantity !== "amps")) return null;
  return { ...number, unit: { ...unit, alternating: unit.alternating || alternating } };
}

function numberOf(match: RegExpExecArray, decimal: Decimal): NumberCell | null {
  const [, sign, digits, exponent, rest] = match;
  const number = splitDigits(digits ?? "", decimal);
  if (number === null) return null;
  const beside = (rest ?? "").trim();
  const unit = beside === "" ? null : parseUnit(beside);
  if (beside !== "" && unit === null) return null;
  const power = exponent === undefined ? 0 : Number(exponent);
  const size = Number(`${number.whole}.${number.fraction}e${power}`);
  if (!(size < sentinel)) return overRange;
  const value = sign === "" || sign === "+" ? size : -size;
  return { kind: "number", value, decimals: number.fraction.length - power, unit, grouped: number.grouped };
}

const grouping = {
  ".": /^\d{1,3}([,'’ \u00a0\u2009\u202f])\d{3}(?:\1\d{3})*$/,
  ",": /^\d{1,3}([.'’ \u00a0\u2009\u202f])\d{3}(?:\1\d{3})*$/,
};

function splitDigits(digits: string, decimal: Decimal): { whole: string; fraction: string; grouped: boolean } | null {
  const at = digits.indexOf(decimal);
  const whole = at < 0 ? digits : digits.slice(0, at);
  const fraction = at < 0 ? "" : digits.slice(at + 1);
  if (fraction !== "" && !/^\d+$/.test(fraction)) return null;
  if (whole === "" || /^\d+$/.test(whole)) return { whole: whole === "" ? "0" : whole, fraction, grouped: false };
  if (!grouping[decimal].test(whole)) return null;
  return { whole: whole.replace(/\D/g, ""), fraction, grouped: true };
}

function gapOf(cell: string): NumberCell {
  if (overRangePattern.test(cell)) return overRange;
  // The instrument's own word keeps its point where the export turned the others into commas.
  if (/^[+\-−–]?9[.,]9\d*e\+?3[78]$/i.test(cell)) return overRange;
  if (noNumberPattern.test(cell)) return noNumberMark;
  if (dashes.test(cell)) return noNumberMark;
  if (/^[<>]\s*(?:[\d.,]+\s*\S*|max|min)$/i.test(cell)) return overRange;
  return gapBesideUnit(cell);
}

/** `OL mV`, `--- V`: the mark with a unit beside it. */
function gapBesideUnit(cell: string): NumberCell {
  const match = /^(.*?[^\s])\s+(\S+(?:\s+[AaDd][Cc])?)$/s.exec(cell);
  if (match === null || parseUnit(match[2] ?? "") === null) return unreadable;
  const mark = match[1] ?? "";
  if (overRangePattern.test(mark)) return overRange;
  return dashes.test(mark) || noNumberPattern.test(mark) ? noNumberMark : unreadable;
}
