/**
 * One line of the protection checks, and the three ways it can end.
 */
import type { ProtectionCheck } from "../../diagnosis.ts";

export type { ProtectionCheck };

/**
 * A value held against a limit that is only known to lie in a range: kept for sure, broken for sure, or cannot tell.
 * @example withinLimit(30, 40, 70) // true; 50 gives null, 80 gives false
 */
export function withinLimit(value: number, lowLimit: number, highLimit: number): boolean | null {
  if (value <= lowLimit) return true;
  return value > highLimit ? false : null;
}

/** The same of a value that is itself only known to lie in a range. */
export function bothWithin(
  { lowAmps, highAmps }: { readonly lowAmps: number; readonly highAmps: number },
  lowLimit: number,
  highLimit: number,
): boolean | null {
  const ends = [withinLimit(lowAmps, lowLimit, highLimit), withinLimit(highAmps, lowLimit, highLimit)];
  return ends[0] === ends[1] ? ends[0]! : null;
}

/** A figure that is from memory, or that binds nobody here, warns and never fails an install by itself. */
export const warnOnly = (pass: boolean | null): boolean | null => (pass === false ? null : pass);

/** Three digits are as many as any of these figures deserves. */
export const show = (value: number): string => String(Number(value.toPrecision(3)));

/** One figure, or both ends where they differ in what is shown. */
export function rangeWords(low: number, high: number): string {
  return show(low) === show(high) ? show(low) : `${show(low)} to ${show(high)}`;
}
