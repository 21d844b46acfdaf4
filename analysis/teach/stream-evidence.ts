/**
 * What the whole stream says of a way to read it: a meter on a bench stands at levels and steps between them, stays within
 * what its feed can bring, and an autoranging one shows each value in the finest range that holds it. All in nats against.
 */

/** Steps between levels cost a little each; readings that jump with every frame are no reading. */
const jumpCost = 0.7;
const mostJumpCost = 25;

export interface Levels {
  /** an ordinary change between frames near each frame, in the series' own measure */
  readonly noise: Float64Array;
  /** by frame: it jumped from the one before */
  readonly jumps: Uint8Array;
  /** jumps, a level that is crept up to counted once */
  readonly jumpCount: number;
}

/** Noise differs from level to level and from range to range: it is taken from so many changes at a time. */
const blockFrames = 16;
const jumpNoises = 8;
const jumpShare = 0.005;

/** @param values by frame; NaN or Infinity where there is no number: such frames are passed over */
export function levelsOf(values: Float64Array, step: number): Levels {
  const steps = new Float64Array(values.length).fill(Number.NaN);
  let last = Number.NaN;
  for (const [i, value] of values.entries()) {
    if (!Number.isFinite(value)) continue;
    steps[i] = value - last;
    last = value;
  }
  const changes = steps.map(Math.abs);
  const noise = new Float64Array(values.length);
  const jumps = new Uint8Array(values.length);
  let jumpCount = 0;
  for (let from = 0; from < values.length; from += blockFrames) {
    const to = Math.min(values.length, from + blockFrames);
    const usual = Math.max(step, usualChange(changes.subarray(from, to)));
    for (let i = from; i < to; i++) {
      noise[i] = usual;
      if (!(changes[i]! > Math.max(jumpNoises * usual, jumpShare * Math.abs(values[i]!)))) continue;
      jumps[i] = 1;
      if (!settlesFrom(steps[i - 1] ?? Number.NaN, steps[i]!)) jumpCount++;
    }
  }
  return { noise, jumps, jumpCount };
}

/** A display that creeps up to a new level takes shrinking steps the same way: all of them are one jump. */
const settlesFrom = (before: number, step: number): boolean =>
  before * step > 0 && Math.abs(step) < 0.95 * Math.abs(before);

/** A few changes in a still block are steps; where many of its frames differ, the small changes are its noise. */
const noisyShare = 0.35;

function usualChange(changes: Float64Array): number {
  const sorted = changes.filter((change) => change > 0).sort();
  return sorted.length < noisyShare * changes.length ? 0 : sorted[sorted.length >> 2]!;
}

/** A number that goes to and fro with every frame over a tenth of all that it ever does. */
const restlessCost = 33;

/** @param step smallest change that the number can show */
export function unsteadiness(values: Float64Array, step: number): number {
  const { noise, jumpCount } = levelsOf(values, step);
  const sorted = values.filter(Number.isFinite).sort();
  const spread =
    sorted.length > 0 ? sorted[Math.floor(0.95 * sorted.length)]! - sorted[Math.floor(0.05 * sorted.length)]! : 0;
  const typical = noise.slice().sort()[noise.length >> 1] ?? 0;
  const size = Math.max(Math.abs(sorted[0] ?? 0), Math.abs(sorted.at(-1) ?? 0));
  const restless = typical > 0.1 * spread && typical > 0.02 * size && typical > 20 * step ? restlessCost : 0;
  return restless > 0 ? restless : Math.min(mostJumpCost, jumpCost * (jumpCount + gaps(values)));
}

/** Times that the number was lost: to over-range or because it is none. */
function gaps(values: Float64Array): number {
  let count = 0;
  for (let i = 1; i < values.length; i++) if (!Number.isFinite(values[i]!) && Number.isFinite(values[i - 1]!)) count++;
  return count;
}

/** Whatever a recording holds, its true reading steps about so often: once in three seconds (our guess of bench work). */
export const ordinaryUnsteadiness = (seconds: number): number => Math.min(mostJumpCost, (jumpCost * seconds) / 3);

/** No 12 V feed brings more, over-range set apart: a hundred volts or amps (common sense, not a limit). */
const mostOfFeed = 100;

/** @param typedMost largest value typed; all in V or A */
export function excess(values: Float64Array, typedMost: number): number {
  const most = Math.max(mostOfFeed, 4 * typedMost);
  let far = 0;
  let absurd = 0;
  let beyond = 0;
  for (const [i, value] of values.entries()) {
    if (!Number.isFinite(value) || Math.abs(value) <= Math.max(2.5 * typedMost, 0.2 * mostOfFeed)) continue;
    if (besideOverRange(values, i, 1) || besideOverRange(values, i, -1)) continue;
    beyond = 1;
    if (Math.abs(value) <= most) continue;
    far++;
    if (Math.abs(value) > 20 * most) absurd++;
  }
  return beyond + (far === 0 ? 0 : 2 + Math.min(2, 0.2 * far)) + (absurd === 0 ? 0 : 4 + Math.min(6, 0.6 * absurd));
}

/** A display that creeps passes everything that its ranges hold on the way to over-range and back. */
function besideOverRange(values: Float64Array, from: number, step: 1 | -1): boolean {
  let i = from;
  while (Number.isFinite(values[i + step]) && Math.abs(values[i + step]!) > Math.abs(values[i]!)) i += step;
  const next = values[i + step];
  return next !== undefined && !Number.isFinite(next);
}
