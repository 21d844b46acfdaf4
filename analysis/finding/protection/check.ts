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

/** A figure that is from memory, or that binds nobody here, warns and never fails an install by itself. */
export const warnOnly = (pass: boolean | null): boolean | null => (pass === false ? null : pass);

/** Three digits are as many as any of these figures deserves. */
export const show = (value: number): string => String(Number(value.toPrecision(3)));
