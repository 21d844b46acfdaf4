/**
 * How a reading's miss counts: in doubts of the reading, but for one that only bounds a level, or may be of another state.
 */
import { heldShare, heldVolts } from "./prior.ts";
import type { PreparedReading } from "./round-setting.ts";

export interface Miss {
  /** in doubts */
  readonly residual: number;
  /** how fast it grows, for each volt or amp of miss */
  readonly perUnit: number;
}

/**
 * @param miss predicted less read, in volts or amps
 * @param noise the reading's standard uncertainty, in the same unit
 * @example a plain reading 0.03 V off, known to 0.01 V: residual 3, 100 more for each volt
 */
export function missInDoubts({ reading, farthest }: PreparedReading, miss: number, noise: number): Miss {
  if (reading.held !== null) return heldMiss(reading.held, miss, noise);
  return farthest === null ? { residual: miss / noise, perUnit: 1 / noise } : softMiss(miss, noise ** 2, farthest);
}

/**
 * A held extreme bounds the level: on its far side it is as sharp as any reading; on the near side the level may lie
 * anywhere, the less surprisingly the nearer.
 */
function heldMiss(held: "lowest" | "highest", miss: number, noise: number): Miss {
  const beyond = held === "lowest" ? miss < 0 : miss > 0;
  if (beyond) return { residual: miss / noise, perUnit: 1 / noise };
  return softMiss(miss, noise ** 2 + heldVolts ** 2, 1 / heldShare);
}

/** Grows ever more slowly, and never beyond `most`. */
function softMiss(miss: number, variance: number, most: number): Miss {
  const square = variance + (miss / most) ** 2;
  return { residual: miss / Math.sqrt(square), perUnit: variance / square ** 1.5 };
}
