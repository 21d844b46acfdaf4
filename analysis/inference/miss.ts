/**
 * How a reading's miss counts: in doubts of the reading, but for one that only bounds a level, or may be of another state.
 * Such a miss grows ever more slowly, and never beyond a bound. Two plain numbers, as they are asked for some million times.
 */
import { heldShare, heldVolts } from "./prior.ts";
import type { PreparedReading } from "./round-setting.ts";

type Missed = Pick<PreparedReading, "reading" | "farthest">;

/**
 * @param miss predicted less read, in volts or amps
 * @param noise the reading's standard uncertainty, in the same unit
 * @example a plain reading 0.03 V off, known to 0.01 V: 3
 */
export function missInDoubts(entry: Missed, miss: number, noise: number): number {
  const most = mostDoubts(entry, miss);
  return most === null ? miss / noise : miss / Math.sqrt(varianceOf(entry, noise) + (miss / most) ** 2);
}

/** How fast that grows, for each volt or amp of miss: 100 for the plain reading above. */
export function doubtsPerUnit(entry: Missed, miss: number, noise: number): number {
  const most = mostDoubts(entry, miss);
  if (most === null) return 1 / noise;
  const variance = varianceOf(entry, noise);
  return variance / (variance + (miss / most) ** 2) ** 1.5;
}

/**
 * Doubts that a miss never exceeds; null where it may. A held extreme bounds the level: on its far side it is as sharp as any
 * reading; on the near side the level may lie anywhere, the less surprisingly the nearer.
 */
function mostDoubts({ reading: { held }, farthest }: Missed, miss: number): number | null {
  if (held === null) return farthest;
  const beyond = held === "lowest" ? miss < 0 : miss > 0;
  return beyond ? null : 1 / heldShare;
}

const varianceOf = ({ reading }: Missed, noise: number): number =>
  reading.held === null ? noise ** 2 : noise ** 2 + heldVolts ** 2;
