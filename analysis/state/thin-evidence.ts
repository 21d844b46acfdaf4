/**
 * Where keying is seen by the battery's volts alone, and its edges do not stand out of what the log does between them: a
 * regulator hunts, a battery recovers, noise passes the same levels. There the radio's state is left open.
 */
import type { Seconds } from "../units.ts";
import type { KeyedSteps } from "./keyed-step.ts";
import type { KeyingSignal } from "./keying-signal.ts";
import { meanOfSamples } from "./sample-sums.ts";
import { type ClockedLog, lowerBound, type PreparedLog } from "./stretch.ts";

export interface Evidence {
  readonly group: readonly ClockedLog[];
  readonly starts: Float64Array;
  /** those of the group's logs first, in order */
  readonly signals: readonly KeyingSignal[];
  readonly found: KeyedSteps;
  readonly regime: Uint8Array;
}
/** An edge is clear where a step is so many times what the log moves otherwise, and this share of the keyed step. */
const clearEdge = 3;
const edgeShare = 0.4;
/** A regime of which fewer edges than this are clear says nothing of keying. */
const leastClear = 0.5;
/** Steps are measured from what stands so long before to what stands so long after, a meter's filter left out. */
const sidesSeconds: readonly Seconds[] = [1.2, 2.4];
const filterSeconds: Seconds = 0.3;
const sideSamples = 2;
/** So many of all such steps are no larger than so many standard deviations. */
const usualRank = 0.8;
const deviations = 1.28;

/** 1 for each stretch whose state rests on edges none of which is clear. */
export function thinEvidence(given: Evidence): Uint8Array {
  const { keyed } = given.found.keying;
  const thin = new Uint8Array(keyed.length);
  const edges: { k: number; clear: boolean }[] = [];
  for (let k = 1; k < keyed.length; k++) if (keyed[k] !== keyed[k - 1]) edges.push({ k, clear: false });
  if (edges.length === 0) return thin;
  const moves = given.group.map((clocked, s) =>
    given.signals[s]!.sight === "battery" ? sidesSeconds.map((side) => movesOf(given, clocked, side)) : null,
  );
  for (const edge of edges) edge.clear = isClear(given, moves, edge.k);
  for (const wanted of new Set(given.regime)) {
    const here = edges.filter(({ k }) => given.regime[k] === wanted);
    if (here.filter(({ clear }) => clear).length >= leastClear * here.length) continue;
    for (let k = 0; k < thin.length; k++) if (given.regime[k] === wanted) thin[k] = 1;
  }
  for (let e = 0; e <= edges.length; e++) {
    const [before, after] = [edges[e - 1], edges[e]];
    if (before?.clear !== true && after?.clear !== true) thin.fill(1, before?.k ?? 0, after?.k ?? thin.length);
  }
  return thin;
}

function isClear(
  { signals, found, regime }: Evidence,
  moves: readonly (readonly Moves[] | null)[],
  k: number,
): boolean {
  return signals.some(({ levels }, s) => {
    const step = found.steps[s]![k]!;
    if (!(step > 0) || Number.isNaN(levels[k]!) || Number.isNaN(levels[k - 1]!)) return false;
    const own = moves[s] ?? null;
    if (own === null) return true;
    const way = found.keying.keyed[k] === 1 ? 1 : -1;
    return own.some(({ at, usual }) => way * at[k]! > Math.max(edgeShare * step, clearEdge * usual[regime[k]!]!));
  });
}

/** Steps of a log, turned so that keying raises it. */
interface Moves {
  /** at the beginning of each stretch */
  readonly at: Float64Array;
  /** by regime, what it moves by between edges of keying, root mean square */
  readonly usual: readonly number[];
}

function movesOf(
  { starts, found, regime }: Evidence,
  { log, startSeconds, rate }: ClockedLog,
  sideSeconds: Seconds,
): Moves {
  const { keyed } = found.keying;
  const { seconds, intervalSeconds } = log.samples;
  const indexes = Array.from(starts, (start) => lowerBound(seconds, (start - startSeconds) / rate));
  const side = Math.max(sideSamples, Math.round(sideSeconds / intervalSeconds));
  const gap = Math.round(filterSeconds / intervalSeconds);
  const at = Float64Array.from(indexes, (index) => stepAt(log, index, side, gap));
  const between: number[][] = [[], []];
  for (let first = 0; first < keyed.length; ) {
    let last = first;
    while (keyed[last + 1] === keyed[first] && regime[last + 1] === regime[first]) last++;
    const end = indexes[last + 1] ?? seconds.length;
    for (let i = indexes[first]! + gap + side; i + gap + side <= end; i += Math.ceil(side / 2)) {
      between[regime[first]!]!.push(Math.abs(stepAt(log, i, side, gap)));
    }
    first = last + 1;
  }
  const usual = between.map((all) => all.sort((a, b) => a - b)[Math.floor(usualRank * all.length)] ?? Number.NaN);
  return { at, usual: usual.map((step) => Math.max(step / deviations, log.samples.resolution / 4)) };
}

function stepAt({ sums, movement }: PreparedLog, index: number, side: number, gap: number): number {
  const from = Math.max(0, index - side);
  const to = Math.min(sums.values.length, index + gap + side);
  if (index <= from || to <= index + gap) return 0;
  return (meanOfSamples(sums, index + gap, to) - meanOfSamples(sums, from, index)) * movement.direction;
}
