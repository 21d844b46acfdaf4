/**
 * A min/max pyramid over one log: however many samples fall on a pixel, the least and the greatest of them are drawn,
 * so no dip is lost at any zoom. Level 0 is the samples; each level above keeps one pair for `fan` pairs below it.
 */
export const fan = 8;

interface Level {
  readonly least: Float64Array;
  readonly most: Float64Array;
  /** samples that one entry stands for */
  readonly width: number;
}

export interface TraceWindow {
  /** seconds and value, two entries a bucket where it was thinned (least and greatest in their order), one a sample where not; NaN: a gap */
  readonly seconds: Float64Array;
  readonly values: Float64Array;
}

export class Pyramid {
  readonly seconds: Float64Array;
  private readonly values: Float64Array;
  private readonly levels: Level[];
  /** a step longer than this is a gap in the log, and drawn as one */
  private readonly gapSeconds: number;

  constructor(seconds: Float64Array, values: Float64Array, intervalSeconds: number) {
    this.seconds = seconds;
    this.values = values;
    this.gapSeconds = Math.max(intervalSeconds * 5, Number.MIN_VALUE);
    this.levels = buildLevels(values);
  }

  valueAt(index: number): number {
    return this.values[index]!;
  }

  /** What is visible between two moments, in at most about twice `buckets` points, one beyond each edge included. */
  window(fromSeconds: number, toSeconds: number, buckets: number): TraceWindow {
    const start = Math.max(0, firstAtOrAfter(this.seconds, fromSeconds) - 1);
    const end = Math.min(this.seconds.length, firstAtOrAfter(this.seconds, toSeconds) + 1);
    if (end - start <= 2 * buckets) return this.plain(start, end);
    return this.thinned(start, end, buckets);
  }

  private plain(start: number, end: number): TraceWindow {
    const points = new Points(2 * (end - start));
    for (let index = start; index < end; index++) {
      if (index > start) this.markGap(points, index - 1, index);
      points.add(this.seconds[index]!, this.values[index]!);
    }
    return points.done();
  }

  private thinned(start: number, end: number, buckets: number): TraceWindow {
    const points = new Points(4 * buckets + 4);
    const step = (end - start) / buckets;
    let last = -1;
    for (let bucket = 0; bucket < buckets; bucket++) {
      const from = start + Math.floor(bucket * step);
      const to = Math.min(end, start + Math.floor((bucket + 1) * step));
      if (to <= from) continue;
      if (last >= 0) this.markGap(points, last, from);
      const { least, most } = this.extremes(from, to);
      const middle = (this.seconds[from]! + this.seconds[to - 1]!) / 2;
      const falling = this.values[from]! > this.values[to - 1]!;
      points.add(this.seconds[from]!, falling ? most : least);
      points.add(middle, falling ? least : most);
      last = to - 1;
    }
    return points.done();
  }

  private markGap(points: Points, before: number, after: number): void {
    const step = this.seconds[after]! - this.seconds[before]!;
    if (step > this.gapSeconds) points.add(this.seconds[before]! + step / 2, Number.NaN);
  }

  /** Least and greatest of the samples from `from` up to `to`, from the coarsest entries that fit. */
  extremes(from: number, to: number): { least: number; most: number } {
    let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
    let at = from;
    while (at < to) {
      const level = this.levels.findLast(({ width }) => at % width === 0 && at + width <= to);
      const entry = level ? at / level.width : at;
      const low = level ? level.least[entry]! : this.values[at]!;
      const high = level ? level.most[entry]! : this.values[at]!;
      if (low < least) least = low;
      if (high > most) most = high;
      at += level?.width ?? 1;
    }
    return { least, most };
  }
}

function buildLevels(values: Float64Array): Level[] {
  const levels: Level[] = [];
  let below: Level = { least: values, most: values, width: 1 };
  while (below.least.length >= 2 * fan) {
    below = levelAbove(below);
    levels.push(below);
  }
  return levels;
}

/** Only whole groups get an entry; what is left at the end is looked up below. */
function levelAbove(below: Level): Level {
  const length = Math.floor(below.least.length / fan);
  const least = new Float64Array(length);
  const most = new Float64Array(length);
  for (let entry = 0; entry < length; entry++) {
    const first = entry * fan;
    let low = below.least[first]!;
    let high = below.most[first]!;
    for (let index = first + 1; index < first + fan; index++) {
      if (below.least[index]! < low) low = below.least[index]!;
      if (below.most[index]! > high) high = below.most[index]!;
    }
    least[entry] = low;
    most[entry] = high;
  }
  return { least, most, width: below.width * fan };
}

/** Index of the first moment not before `moment`; the length where there is none. */
export function firstAtOrAfter(seconds: Float64Array, moment: number): number {
  let [low, high] = [0, seconds.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (seconds[middle]! < moment) low = middle + 1;
    else high = middle;
  }
  return low;
}

class Points {
  private readonly seconds: Float64Array;
  private readonly values: Float64Array;
  private count = 0;

  constructor(most: number) {
    this.seconds = new Float64Array(most);
    this.values = new Float64Array(most);
  }

  add(second: number, value: number): void {
    this.seconds[this.count] = second;
    this.values[this.count++] = value;
  }

  done(): TraceWindow {
    return { seconds: this.seconds.slice(0, this.count), values: this.values.slice(0, this.count) };
  }
}
