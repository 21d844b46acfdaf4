/**
 * How high a signal stands over idle while the key is held: here, and as a rule.
 * Goes in: stretches found keyed. Comes out: a height for each, runs of one level at their mean.
 */
import type { Seconds } from "../units.ts";
import type { KeyingSignal } from "./keying-signal.ts";
import { rankedByTime } from "./ranked-by-time.ts";
import { risesOf } from "./rise.ts";

export interface HeightCase {
  readonly starts: Float64Array;
  readonly ends: Float64Array;
  readonly signals: readonly KeyingSignal[];
  /** for each signal its keyed step in each stretch */
  readonly steps: readonly Float64Array[];
  /** 1 where keyed, pauses within a transmission filled in */
  readonly keyed: Uint8Array;
}

/** Share of the usual height below which the load's current has gone. */
export const gone = 0.5;
/** Below this share nothing flows but what an idle set draws. */
const letGo = 0.1;
/** Lower than elsewhere for no more looks than this, one at either edge mixed, is what a meter makes of a short burst. */
const fewLooks = 3.5;
/** A contact has given way where the height jumps by this share of what it was. */
export const leastJump = 0.17;
/** Share of a run of one level that lies within keying. */
const mostlyKeyed = 0.6;

/** Height over idle, each run of stretches at its mean by time; NaN where the signal saw no step between a run and the time before keying. */
export function heightsOf(given: HeightCase, signal: KeyingSignal): Float64Array {
  const row = new Float64Array(given.keyed.length).fill(Number.NaN);
  const rises = risesOf(signal, given.keyed);
  const runSeconds = secondsOfRuns(given, signal);
  for (let i = 0; i < rises.length; ) {
    const run = signal.run[rises[i]!.k]!;
    let end = i;
    let seconds = 0;
    let sum = 0;
    while (end < rises.length && signal.run[rises[end]!.k] === run) {
      const { k, height } = rises[end++]!;
      const weight = Math.max(given.ends[k]! - given.starts[k]!, 1e-6);
      seconds += weight;
      sum += weight * height;
    }
    // A run that lies mostly outside keying reaches into it only because clocks and edges are not known to the moment.
    if (seconds > mostlyKeyed * (runSeconds.get(run) ?? 0)) {
      for (let r = i; r < end; r++) row[rises[r]!.k] = sum / seconds;
    }
    i = end;
  }
  return row;
}

/** How long each run of stretches of one level lasts, by its number. */
function secondsOfRuns({ starts, ends }: HeightCase, { run }: KeyingSignal): Map<number, Seconds> {
  const lasted = new Map<number, Seconds>();
  for (let k = 0; k < run.length; k++) lasted.set(run[k]!, (lasted.get(run[k]!) ?? 0) + ends[k]! - starts[k]!);
  return lasted;
}

/** A height that a signal holds, and for how long. */
interface Held {
  readonly height: number;
  readonly seconds: Seconds;
}

/** By keyed step, the heights that a signal holds in all its transmissions for more than a look or two, and their median by time. */
export type HeldHeights = ReadonlyMap<number, { readonly all: readonly Held[]; readonly usual: number }>;

export function heldHeights(given: HeightCase, heights: Float64Array, s: number): HeldHeights {
  const { run, intervalSeconds } = given.signals[s]!;
  const step = given.steps[s]!;
  const held = new Map<number, Held[]>();
  for (let k = 0; k < run.length; ) {
    const last = runEnd(run, k, 1);
    const seconds = given.ends[last]! - given.starts[k]!;
    if (heights[k]! > gone * step[k]! && seconds > 2.5 * intervalSeconds)
      add(held, step[k]!, { height: heights[k]!, seconds });
    k = last + 1;
  }
  return new Map([...held].map(([keyedStep, all]) => [keyedStep, { all, usual: rankedByTime(all, 0.5) }]));
}

/**
 * The height that is held here and elsewhere, where the signal stands no higher here: then what stands lower here is the
 * average of a set that lets go faster than the meter looks. Null where that is not so.
 */
export function usualElsewhere(
  given: HeightCase,
  held: HeldHeights,
  s: number,
  first: number,
  rows: readonly number[],
): number | null {
  const { run, intervalSeconds } = given.signals[s]!;
  const usual = held.get(given.steps[s]![first]!)?.usual;
  if (usual === undefined) return null;
  const stands = rows.some((height, i) => {
    const k = first + i;
    const seconds = given.ends[runEnd(run, k, 1)]! - given.starts[runEnd(run, k, -1)]!;
    const off = height > (1 + leastJump / 2) * usual || height < (1 - leastJump) * usual;
    return (
      off &&
      height > letGo * usual &&
      (height > usual || seconds > fewLooks * intervalSeconds || isHeld(given, held, s, first, height))
    );
  });
  return stands ? null : usual;
}

/** Whether a height is held somewhere for more than a few looks: no average of a short burst is. */
export function isHeld(given: HeightCase, held: HeldHeights, s: number, first: number, height: number): boolean {
  const { intervalSeconds } = given.signals[s]!;
  const all = held.get(given.steps[s]![first]!)?.all ?? [];
  return all.some(
    (one) => Math.abs(one.height - height) < (leastJump / 2) * height && one.seconds > fewLooks * intervalSeconds,
  );
}

function add<K, V>(lists: Map<K, V[]>, key: K, value: V): void {
  const list = lists.get(key);
  if (list) list.push(value);
  else lists.set(key, [value]);
}

/** The last stretch of a run, or the first. */
export function runEnd(run: Int32Array, k: number, way: 1 | -1): number {
  let at = k;
  while (run[at + way] === run[k]) at += way;
  return at;
}
