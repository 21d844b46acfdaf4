/**
 * Sizes of the steps that a signal makes, whoever makes them: what keying may be sought among.
 */
import type { KeyingSignal } from "./keying-signal.ts";
import { median } from "./median.ts";

/** At most so many sizes of step are tried. */
const mostCandidates = 14;

/** Size of step that counts in full: the lower quartile of a signal's clear steps, so that none is too small to count beside a broken contact. */
export function scaleOf(signal: KeyingSignal, stands: (k: number) => boolean): number {
  const clear = clearSteps(signal, stands).sort((a, b) => a - b);
  if (clear.length === 0) return signal.uncertainty.reduce((most, u) => Math.max(most, u), 1e-9) * 4;
  return clear[clear.length >> 2]!;
}

/** A stretch shorter than this is on the way from one level to another, unless it is known to be keyed: a set may let go at once. */
const standingSeconds = 0.8;

export const standing =
  ({
    starts,
    ends,
    fixed,
  }: {
    readonly starts: Float64Array;
    readonly ends: Float64Array;
    readonly fixed: Uint8Array;
  }) =>
  (k: number) =>
    ends[k]! - starts[k]! >= standingSeconds || fixed[k] === 2;

/** Sizes of the steps that stand out of the noise, from one wanted stretch to the next that was seen. */
function clearSteps(signal: KeyingSignal, wanted: (k: number) => boolean): number[] {
  const found: number[] = [];
  let last = -1;
  for (let k = 0; k < signal.levels.length; k++) {
    if (Number.isNaN(signal.levels[k]!) || !wanted(k)) continue;
    if (last >= 0) {
      const step = Math.abs(signal.begins[k]! - signal.finishes[last]!);
      if (step > 3 * Math.hypot(signal.uncertainty[k]!, signal.uncertainty[last]!)) found.push(step);
    }
    last = k;
  }
  return found;
}

/** Sizes of step to try in one regime: those that occur, near ones taken together. */
export function candidateSteps(signal: KeyingSignal, wanted: (k: number) => boolean): number[] {
  const sizes = clearSteps(signal, wanted).sort((a, b) => a - b);
  const groups: number[][] = [];
  for (const size of sizes) {
    const group = groups[groups.length - 1];
    if (group !== undefined && size < 1.2 * group[0]!) group.push(size);
    else groups.push([size]);
  }
  groups.sort((a, b) => b.length * median(b) ** 0.5 - a.length * median(a) ** 0.5);
  return groups.slice(0, mostCandidates).map((group) => median(group));
}
