/**
 * Ripple of a running engine: what ignition and rectifiers leave on a supply makes neighbouring samples scatter.
 */
import type { Samples } from "../log/sample.ts";
import type { Seconds, Volts } from "../units.ts";
import { neighbourScatter } from "./noise.ts";

/** So long before an event samples are looked at; so soon after it, when the supply has recovered, the ripple must be there. */
const before: Seconds = 15;
const recovering: Seconds = 1.5;
const after: Seconds = 4;
/**
 * An engine runs on: so many such spells one after another have it, where the log lasts, all but one of few samples that
 * happen to lie close. A set that lets go again and again rests in between.
 */
const spells = 5;
const closeSpells = 1;
/** At longer intervals each sample may be of another state. */
const longestInterval: Seconds = 0.5;
const fewest = 8;
const most = 400;
/** Ripple is many times what a meter scatters by itself; common practice. */
const clearlyMore = 4;

/**
 * Whether a log scatters several times more after a short event than before it.
 * @param from index of the event's first sample
 * @param to index after its last
 * @example 12.554, 12.553, 12.555 … before, 12.524, 12.549, 12.531 … after // true
 */
export function ripplesAfter(samples: Samples, from: number, to: number): boolean {
  const { values, intervalSeconds, resolution } = samples;
  if (intervalSeconds > longestInterval) return false;
  const samplesIn = (seconds: Seconds) => Math.min(Math.max(Math.ceil(seconds / intervalSeconds), fewest), most);
  const start = to + Math.ceil(recovering / intervalSeconds);
  const quiet = scatter(values.subarray(Math.max(from - samplesIn(before), 0), from));
  // A log without noise shows the same count again and again.
  const least = clearlyMore * Math.max(quiet, resolution / Math.sqrt(12));
  const length = samplesIn(after);
  const ripples = (spell: number) => {
    const begin = start + spell * length;
    return scatter(values.subarray(begin, begin + length)) > least;
  };
  const whole = Math.min(Math.floor((values.length - start) / length), spells);
  const later = Array.from({ length: Math.max(whole - 1, 0) }, (_, k) => ripples(k + 1));
  return ripples(0) && later.filter((has) => !has).length <= closeSpells;
}

/** NaN for too few samples. */
const scatter = (values: Float64Array): Volts => (values.length < fewest ? Number.NaN : neighbourScatter(values));
