/**
 * Whether a log's own samples show its keying, the true moments being known: what stays below its noise no program can find
 * without them, and a log that shows nothing cannot be laid over others.
 */
import type { KnownLog } from "./known-round.ts";

/** A step counts where it is so many standard uncertainties high, and a log shows its keying by so many of them. */
const clear = 4;
const fewest = 2;

export function showsKeying({ samples, stretches }: KnownLog): boolean {
  const parts = stretches.map(({ start, end, radio }) => ({ radio, ...summary(within(start, end)) }));
  let squares = 0;
  let count = 0;
  for (const part of parts) {
    squares += part.squares;
    count += Math.max(part.count - 1, 0);
  }
  const noise = Math.hypot(Math.sqrt(squares / Math.max(count, 1)), samples.resolution / Math.sqrt(12));
  const steps = parts.slice(1).filter((part, k) => {
    const before = parts[k]!;
    if (part.radio === before.radio || part.count === 0 || before.count === 0) return false;
    return Math.abs(part.mean - before.mean) > clear * noise * Math.sqrt(1 / part.count + 1 / before.count);
  });
  return steps.length >= fewest;

  function within(start: number, end: number): Float64Array {
    return samples.values.filter((_, i) => samples.seconds[i]! > start && samples.seconds[i]! < end);
  }
}

function summary(values: Float64Array) {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return { count: values.length, mean, squares };
}
