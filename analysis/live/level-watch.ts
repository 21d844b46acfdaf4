/**
 * Hears one meter's values as they come and says when they stand still: a level with its uncertainty, as soon as the
 * samples since the last step carry it. Goes in: moments and values. Comes out: moving, or a settled level.
 */
import { correlationFactor, roundingUncertainty } from "../state/level.ts";

export interface SettledLevel {
  readonly value: number;
  /** standard uncertainty of the level: scatter, display steps and what settling may be left; not the meter's accuracy */
  readonly uncertainty: number;
  readonly fromSeconds: number;
  readonly toSeconds: number;
  readonly samples: number;
}

/** A level is not believed on less than this (our choice: several samples of an ordinary meter). */
const leastSeconds = 0.6;
const leastSamples = 3;
/** Once settled, the level follows the last so many seconds: a battery under load sags. */
const followSeconds = 2.5;
/** A silence longer than this, or than so many intervals, breaks the stretch. */
const breakSeconds = 2;
const breakIntervals = 5;
/** A value so many noise widths off the level, or so many display steps, is no scatter. */
const offWidths = 5;
const offSteps = 2.5;
/** What may be left of a step, as a share of it, and of the value, where the samples cannot tell it from none. */
const leftOfStep = 0.004;
const leftOfValue = 0.0004;
/** So many different values show how many decimals a display has. */
const manyValues = 12;
/** More decimals than this come from a scale like 1/64 V, whose steps are smaller than the other figure (our choice). */
const binaryDecimals = 5;
const coarsestBinary = 0.05;
/** Samples kept: more say no more of the present level. */
const keptAtMost = 400;

export class LevelWatch {
  private seconds: number[] = [];
  private values: number[] = [];
  /** values off the level that may be a step or a stray */
  private doubtful: { seconds: number; value: number }[] = [];
  private level: SettledLevel | null = null;
  /** level before the last step */
  private before: number | null = null;
  /** standard deviation of one sample, from earlier stretches; null: not known yet */
  private noise: number | null = null;
  private interval = 0.5;
  private lastSeconds = Number.NEGATIVE_INFINITY;
  private mostDecimals = 0;
  private readonly seenValues = new Set<number>();
  /** when the last step was first seen */
  stepSeconds: number | null = null;

  /** @param usualDecimals what the display is taken to have until many values have come: hundredths of a volt, tenths of an ampere (common practice) */
  constructor(private readonly usualDecimals = 2) {}

  /** The level that stands now; null while it moves, or while too little has come to tell. */
  get settled(): SettledLevel | null {
    return this.doubtful.length > 0 ? null : this.level;
  }

  /** @param seconds later than those before */
  push(seconds: number, value: number): void {
    const since = seconds - this.lastSeconds;
    if (since <= 0) return;
    if (since > Math.max(breakSeconds, breakIntervals * this.interval)) this.interrupt();
    else this.interval += 0.2 * (since - this.interval);
    this.lastSeconds = seconds;
    this.see(value);
    if (this.level && this.isOff(value, this.level)) this.doubt(seconds, value);
    else {
      this.doubtful = [];
      this.add(seconds, value);
    }
    this.judge();
  }

  /** Over range, a lost link, probes taken off: what comes next has nothing to do with what was. */
  interrupt(): void {
    this.seconds = [];
    this.values = [];
    this.doubtful = [];
    this.level = null;
    this.before = null;
    this.stepSeconds = null;
  }

  /** What came before this moment belongs to another state, though it may look the same. */
  beginAt(seconds: number): void {
    const first = this.seconds.findIndex((each) => each >= seconds);
    const kept = first < 0 ? this.seconds.length : first;
    this.seconds = this.seconds.slice(kept);
    this.values = this.values.slice(kept);
    if (this.level && this.level.fromSeconds < seconds) this.level = null;
  }

  private isOff(value: number, level: SettledLevel): boolean {
    const width = Math.max(offWidths * this.width(), offSteps * this.resolution(), leftOfValue * Math.abs(level.value));
    return Math.abs(value - level.value) > width;
  }

  /** One value off the level may be a stray; a second is a step. Slow meters are believed at once. */
  private doubt(seconds: number, value: number): void {
    this.doubtful.push({ seconds, value });
    if (this.doubtful.length < 2 && this.interval < 0.35) return;
    this.before = this.level!.value;
    this.stepSeconds = this.doubtful[0]!.seconds;
    this.level = null;
    this.seconds = this.doubtful.map((entry) => entry.seconds);
    this.values = this.doubtful.map((entry) => entry.value);
    this.doubtful = [];
  }

  private add(seconds: number, value: number): void {
    this.seconds.push(seconds);
    this.values.push(value);
    if (this.seconds.length > 2 * keptAtMost) {
      this.seconds = this.seconds.slice(-keptAtMost);
      this.values = this.values.slice(-keptAtMost);
    }
  }

  private judge(): void {
    if (this.doubtful.length > 0) return;
    const last = this.seconds.length - 1;
    const reach = this.level ? followSeconds : leastSeconds;
    let first = last;
    while (first > 0 && (this.seconds[last]! - this.seconds[first]! < reach - 1e-9 || last - first + 1 < this.least()))
      first--;
    const long = this.seconds[last]! - this.seconds[first]! >= leastSeconds - 1e-9;
    if (!long || last - first + 1 < this.least()) return;
    const line = lineThrough(this.seconds.slice(first), this.values.slice(first));
    const level = this.levelFrom(line, first, last);
    if (level || !this.level) this.level = level;
    if (level) this.noise = this.noise === null ? line.scatter : 0.8 * this.noise + 0.2 * line.scatter;
  }

  /** Meters that show a value a second or more slowly would make the set wait too long for a third. */
  private least(): number {
    return this.interval > 0.8 ? leastSamples - 1 : leastSamples;
  }

  private levelFrom(line: Line, first: number, last: number): SettledLevel | null {
    const { count, mean, rise, scatter, residuals } = line;
    const resolution = this.resolution();
    const floor = Math.max(this.noise ?? 0, resolution / Math.sqrt(12));
    // few samples say little of their own scatter: what was known before stands in, as if seen in four samples more
    const width = Math.sqrt(((count - 2) * scatter ** 2 + 4 * floor ** 2) / (count + 2));
    if (this.noise !== null && scatter > 4 * floor) return null;
    const riseDoubt = width * Math.sqrt((12 * correlationFactor(residuals)) / count);
    const step = this.before === null ? 0 : Math.abs(mean - this.before);
    const mayBeLeft = Math.max(resolution, leftOfStep * step, leftOfValue * Math.abs(mean));
    if (Math.abs(rise) > Math.max(2 * riseDoubt, mayBeLeft)) return null;
    const seen = Math.abs(rise) > riseDoubt;
    const noise = width * Math.sqrt(correlationFactor(residuals) / count) * (seen ? 2 : 1);
    const rounding = roundingUncertainty(resolution, scatter);
    const trend = Math.max((seen ? 0.6 : 0.5) * Math.abs(rise), 0.45 * Math.min(riseDoubt, mayBeLeft));
    return {
      value: seen ? mean + rise / 2 : mean,
      uncertainty: Math.hypot(noise, rounding, trend),
      fromSeconds: this.seconds[first]!,
      toSeconds: this.seconds[last]!,
      samples: count,
    };
  }

  private width(): number {
    return Math.max(this.noise ?? 0, this.resolution() / Math.sqrt(12));
  }

  /** One step of the display. A binary scale writes many decimals: there it is the least difference that is seen. */
  private resolution(): number {
    const step = 10 ** -this.decimals();
    if (this.mostDecimals < binaryDecimals) return step;
    const different = [...new Set(this.values.slice(-30))].sort((a, b) => a - b);
    const gaps = different.slice(1).map((value, i) => value - different[i]!);
    const least = gaps.length > 0 && gaps.length <= 5 ? Math.min(...gaps) : 0;
    return least < coarsestBinary ? Math.max(step, least) : step;
  }

  /** A number does not carry its last noughts: 12.50 comes as 12.5, and only many values tell a coarse display. */
  private decimals(): number {
    const sure = this.seenValues.size >= manyValues;
    return sure ? this.mostDecimals : Math.max(this.mostDecimals, this.usualDecimals);
  }

  private see(value: number): void {
    this.mostDecimals = Math.max(this.mostDecimals, decimalsOf(value));
    if (this.seenValues.size < manyValues) this.seenValues.add(value);
  }
}

/** @example decimalsOf(12.47) // 2 */
function decimalsOf(value: number): number {
  const [, decimals = "", exponent = "0"] = /^-?\d+(?:\.(\d+))?(?:e([+-]\d+))?$/.exec(String(value)) ?? [];
  return Math.min(Math.max(decimals.length - Number(exponent), 0), 6);
}

interface Line {
  readonly count: number;
  readonly mean: number;
  /** from the first sample to the last */
  readonly rise: number;
  /** standard deviation about the line */
  readonly scatter: number;
  readonly residuals: number[];
}

function lineThrough(seconds: readonly number[], values: readonly number[]): Line {
  const count = values.length;
  const middle = seconds.reduce((sum, each) => sum + each, 0) / count;
  const mean = values.reduce((sum, each) => sum + each, 0) / count;
  let [xx, xy] = [0, 0];
  for (let i = 0; i < count; i++) {
    xx += (seconds[i]! - middle) ** 2;
    xy += (seconds[i]! - middle) * (values[i]! - mean);
  }
  const slope = xx > 0 ? xy / xx : 0;
  const residuals = values.map((value, i) => value - mean - slope * (seconds[i]! - middle));
  const squares = residuals.reduce((sum, each) => sum + each * each, 0);
  const rise = slope * (seconds[count - 1]! - seconds[0]!);
  return { count, mean, rise, scatter: Math.sqrt(squares / Math.max(count - 2, 1)), residuals };
}
