/**
 * How far a signal rises in each transmission over the idle level beside it.
 */
import type { KeyingSignal } from "./keying-signal.ts";

export interface Rise {
  /** where its transmission begins */
  readonly first: number;
  readonly k: number;
  readonly height: number;
}

/** For each keyed stretch that a signal saw: its height over the idle level before its transmission, or after it where nothing was seen before. */
export function risesOf(signal: KeyingSignal, keyed: Uint8Array): Rise[] {
  const rises: Rise[] = [];
  for (let first = 0; first < keyed.length; first++) {
    if (keyed[first] === 0) continue;
    let last = first;
    while (last + 1 < keyed.length && keyed[last + 1] === 1) last++;
    const before = idleBeside(signal, keyed, first, -1);
    const idle = Number.isNaN(before) ? idleBeside(signal, keyed, last, 1) : before;
    if (!Number.isNaN(idle)) {
      for (let k = first; k <= last; k++) {
        if (!Number.isNaN(signal.levels[k]!)) rises.push({ first, k, height: signal.levels[k]! - idle });
      }
    }
    first = last;
  }
  return rises;
}

function idleBeside(signal: KeyingSignal, keyed: Uint8Array, k: number, way: 1 | -1): number {
  let at = k;
  while (at >= 0 && at < keyed.length && (keyed[at] === 1 || Number.isNaN(signal.levels[at]!))) at += way;
  return (way === -1 ? signal.finishes : signal.begins)[at] ?? Number.NaN;
}
