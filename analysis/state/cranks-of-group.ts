/**
 * Cranks of logs on one clock: what any of them shows and none that looked denies.
 */
import type { Job } from "../job/job.ts";
import type { Seconds, Volts } from "../units.ts";
import { findCranks, openVolts } from "./crank.ts";
import type { Crank } from "./engine.ts";
import type { KeyingSignal } from "./keying-signal.ts";
import { ripplesAfter } from "./ripple.ts";
import type { ClockedLog, Stretch } from "./stretch.ts";

/** Logs that show one crank may show it so far apart. */
const sameCrank: Seconds = 1.5;

/** Cranks that any of the volts logs shows: a slow one may have looked away. */
export function cranksIn(
  job: Job,
  group: readonly ClockedLog[],
  stretches: readonly Stretch[],
  starts: Float64Array,
  ends: Float64Array,
): Crank[] {
  const found: Crank[] = [];
  const battery = job.battery.type === "lithium" ? "lithium" : "lead";
  const nearest = group
    .map((_, i) => i)
    .sort((a, b) => group[b]!.log.movement.partsPassed - group[a]!.log.movement.partsPassed);
  for (const i of nearest) {
    const { movement, samples, sums } = group[i]!.log;
    if (movement.sight !== "load" && movement.sight !== "battery") continue;
    const levels = Float64Array.from(stretches, (stretch) => stretch.looks[i]!.level * movement.polarity);
    const standing = carried(levels.map((level) => (level < openVolts ? Number.NaN : level)));
    const lows = standing.map((level, k) => lowestIn(stretches[k]!, i, sums.values, movement.polarity, level));
    const ripples = (first: number, last: number) =>
      ripplesAfter(samples, stretches[first]!.looks[i]!.from, stretches[last]!.looks[i]!.to);
    const atBattery = movement.sight === "battery";
    for (const crank of findCranks(
      starts,
      ends,
      standing,
      lows,
      samples.intervalSeconds,
      battery,
      atBattery ? ripples : null,
    )) {
      const known = found.some(
        (other) =>
          starts[crank.first]! < ends[other.last]! + sameCrank && ends[crank.last]! > starts[other.first]! - sameCrank,
      );
      if (!known && !nearest.some((j) => deniesCrank(group[j]!, stretches, j, crank))) found.push(crank);
    }
  }
  return found.sort((a, b) => a.first - b.first);
}

const crankShows: Volts = 0.4;

/** Whether a log at the battery looked often enough during a dip to have seen it, and saw none. */
function deniesCrank({ log }: ClockedLog, stretches: readonly Stretch[], i: number, { first, last }: Crank): boolean {
  const seconds = stretches[last]!.end - stretches[first]!.start;
  const before = stretches[Math.max(first - 2, 0)]!.looks[i]!.level;
  if (log.movement.sight !== "battery" || seconds < log.samples.intervalSeconds) return false;
  // Clocks are not known to the moment: what it saw just before or after counts as well.
  const near = stretches.slice(Math.max(first - 1, 0), last + 2);
  const during = near.map((stretch) => stretch.looks[i]!.level * log.movement.polarity).filter((x) => !Number.isNaN(x));
  return Math.min(...during) > before * log.movement.polarity - crankShows;
}

/** Stretches longer than this are no crank, and their level says enough. */
const longestCrank: Seconds = 6;

function lowestIn(stretch: Stretch, i: number, values: Float64Array, polarity: 1 | -1, level: Volts): Volts {
  const { from, to } = stretch.looks[i]!;
  if (stretch.end - stretch.start > longestCrank || to <= from || to - from > 10_000) return level;
  let lowest = level;
  for (let at = from; at < to; at++) lowest = Math.min(lowest, values[at]! * polarity);
  return lowest;
}

/** Levels with unseen stretches given the one before: a dip must not look deeper for a log's pause. */
function carried(levels: Float64Array): Float64Array {
  let last = levels.find((level) => !Number.isNaN(level)) ?? Number.NaN;
  return levels.map((level) => {
    if (!Number.isNaN(level)) last = level;
    return last;
  });
}

/** A crank says nothing of keying: its level is taken as that of the stretch before it. */
export function withoutCranks(signal: KeyingSignal, cranks: readonly Crank[]): KeyingSignal {
  if (cranks.length === 0) return signal;
  const filled = (values: Float64Array) => {
    const copy = Float64Array.from(values);
    for (const { first, last } of cranks) copy.fill(signal.finishes[first - 1] ?? Number.NaN, first, last + 1);
    return copy;
  };
  return {
    ...signal,
    levels: filled(signal.levels),
    begins: filled(signal.begins),
    finishes: filled(signal.finishes),
  };
}
