/**
 * Bytes beside the number that only repeat it: a bar graph grows with its size, a stored maximum or minimum copies it now and
 * then. Their bits turn as the number jumps, as those of ranges and signs do, and mean none of these.
 */

/** So many different values a bar has at least: state bits that share a byte make few. */
const fewestBars = 6;
/** A bar counts in steps of its own: below so many of them its length tells a ratio too coarsely (our choice). */
const shortBar = 8;
const ratioSlack = 0.03;
const commonShare = 0.8;
/** A ratio that holds is telling with fewer. */
const fewestLengths = 3;

/**
 * @param raw by frame; NaN or Infinity where there is no number
 * @param places the bytes to look at
 */
export function sizeBytes(
  raw: Float64Array,
  frames: readonly Uint8Array[],
  places: readonly number[],
): ReadonlySet<number> {
  const good = [...frames.keys()].filter((i) => Number.isFinite(raw[i]!));
  const bySize = good.toSorted((a, b) => Math.abs(raw[a]!) - Math.abs(raw[b]!));
  const out = new Set<number>();
  if (good.length < 12) return out;
  for (const at of places) {
    const bars = bySize.map((i) => frames[i]![at]!);
    const values = differing(bars);
    if ((values >= fewestBars && rises(bars)) || (values > fewestLengths && sameRatio(bars, bySize, raw))) out.add(at);
  }
  for (const at of copies(raw, frames, good, places)) out.add(at);
  return out;
}

/** How many values there are; 0 where one of them is nearly all. */
function differing(values: readonly number[]): number {
  const counts = new Map<number, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  return Math.max(...counts.values()) <= commonShare * values.length ? counts.size : 0;
}

/** Whether a sequence is in order but for a few: its longest rising part is nearly all of it. */
function rises(values: readonly number[]): boolean {
  const ends: number[] = [];
  for (const value of values) {
    let low = 0;
    let high = ends.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (ends[middle]! <= value) low = middle + 1;
      else high = middle;
    }
    ends[low] = value;
  }
  return ends.length >= 0.95 * values.length;
}

/** A bar shows a share of its range: between bar and size lies one ratio and, from range to range, powers of ten. */
function sameRatio(bars: readonly number[], order: readonly number[], raw: Float64Array): boolean {
  const ratios: number[] = [];
  const lengths = new Set<number>();
  for (const [k, bar] of bars.entries()) {
    const size = Math.abs(raw[order[k]!]!);
    if (bar < shortBar || size === 0) continue;
    lengths.add(bar);
    ratios.push(Math.log10(size / bar) % 1);
  }
  if (lengths.size < fewestLengths || ratios.length < 0.3 * bars.length) return false;
  const apart = (a: number, b: number) => Math.abs(((((a - b) % 1) + 1.5) % 1) - 0.5);
  const alike = (one: number) => ratios.filter((ratio) => apart(ratio, one) < ratioSlack).length;
  return [0.25, 0.5, 0.75].some((share) => alike(ratios[Math.floor(share * ratios.length)]!) > 0.9 * ratios.length);
}

/** Two bytes that stay as they are but when they become the number itself: the largest or smallest so far, or one kept. */
function copies(
  raw: Float64Array,
  frames: readonly Uint8Array[],
  good: readonly number[],
  places: readonly number[],
): number[] {
  const out: number[] = [];
  const counts = wholeCounts(raw);
  if (counts === null) return out;
  const length = Math.min(...frames.map((frame) => frame.length));
  for (const at of places) {
    for (const [high, low] of [
      [at, at + 1],
      [at, at - 1],
      [at + 1, at],
      [at - 1, at],
    ] as const) {
      if (Math.min(high, low) < 0 || Math.max(high, low) >= length || out.includes(at)) continue;
      if (copied(counts, good, (i) => frames[i]![high]! * 256 + frames[i]![low]!)) out.push(at);
    }
  }
  return out;
}

/** Some firmware sends over-range as a number that no meter shows. */
const farBeyond = 1e6;

/** A glass shows its number with a point: memory beside it has the digits without. null where the number is no decimal one. */
function wholeCounts(raw: Float64Array): Float64Array | null {
  for (const scale of [1, 10, 100, 1000, 10_000]) {
    const counts = raw.map((x) => Math.round(x * scale));
    if (
      raw.every((x, i) => !(Math.abs(x) < farBeyond) || Math.abs(x * scale - counts[i]!) <= 1e-6 * scale * Math.abs(x))
    )
      return counts;
  }
  return null;
}

function copied(raw: Float64Array, good: readonly number[], value: (frame: number) => number): boolean {
  let changes = 0;
  let others = 0;
  let widest = 0;
  for (let k = 1; k < good.length; k++) {
    const [before, now] = [value(good[k - 1]!), value(good[k]!)];
    if (before === now) continue;
    changes++;
    widest = Math.max(widest, now);
    const size = raw[good[k]!]!;
    if (now !== (size & 0xffff) && now !== (-size & 0xffff)) others++;
  }
  // Nought and one are as well a flag's.
  return changes > 0 && widest > 0xff && others <= 0.1 * changes;
}
