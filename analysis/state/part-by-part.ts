/**
 * Where the drops logged in one round go, each across some of the parts, all the way round the loop:
 * a contact that gives way then shows in one of them.
 */
import { runEnd } from "./keyed-height.ts";
import type { KeyingSignal } from "./keying-signal.ts";

export interface WatchedLoop {
  readonly starts: Float64Array;
  readonly ends: Float64Array;
  readonly signals: readonly KeyingSignal[];
  /** all parts of the loop, the load aside, by id */
  readonly parts: readonly string[];
}

/** A log has looked at a level where the level lasts for so many of its intervals. */
const looks = 1.5;

/**
 * 1 for each stretch in which every part of the loop was seen by a log that looked often enough to see it give way.
 */
export function partByPart(given: WatchedLoop): Uint8Array {
  const { signals, parts, starts } = given;
  const drops = signals.map((_, s) => s).filter((s) => signals[s]!.across.length > 0);
  const watched = new Uint8Array(starts.length);
  if (parts.some((part) => !drops.some((s) => signals[s]!.across.includes(part)))) return watched;
  const shortest = shortestLevel(given);
  for (let k = 0; k < watched.length; k++) {
    const seeing = drops.filter(
      (s) => !Number.isNaN(signals[s]!.levels[k]!) && shortest[k]! > looks * signals[s]!.intervalSeconds,
    );
    const seen = new Set(seeing.flatMap((s) => signals[s]!.across));
    if (parts.every((part) => seen.has(part))) watched[k] = 1;
  }
  return watched;
}

/** How long the briefest level lasts that any of the signals shows in each stretch. */
function shortestLevel({ starts, ends, signals }: WatchedLoop): Float64Array {
  const shortest = new Float64Array(starts.length).fill(Number.POSITIVE_INFINITY);
  for (const { run, levels } of signals) {
    for (let k = 0; k < run.length; ) {
      const last = runEnd(run, k, 1);
      const seconds = ends[last]! - starts[k]!;
      for (; k <= last; k++) if (!Number.isNaN(levels[k]!)) shortest[k] = Math.min(shortest[k]!, seconds);
    }
  }
  return shortest;
}
