/**
 * The engine being cranked: a dip of the battery by a volt or more for a second or so that keying does not explain.
 */
import type { Seconds, Volts } from "../units.ts";
import type { Crank } from "./engine.ts";

/** A dip at least this deep may be a crank. Common practice: 8 to 10.5 V at the battery; a slow meter shows less. */
const leastDepth: Volts = 0.7;
/** A starter that hardly loads its battery: so shallow, so short, and the charging comes up at its end. */
const shallowDepth: Volts = 0.3;
const shallowSeconds: Seconds = 3;
const chargingRise: Volts = 0.7;
const chargingVolts: Volts = 12.9;
/** With the ripple of an engine after it, a dip may be this shallow: a slow meter sees little of a short crank. */
const rippledDepth: Volts = 0.15;
/** Below this a battery is loaded by nothing but a starter. */
const starterVolts: Volts = 10.8;
const highestDip = { lead: 12, lithium: 12.6 } as const;
/** At the battery's posts nothing else pulls so far down to there, whatever was switched on before. */
const starterDepth: Volts = 1.5;
const riseVolts: Volts = 0.35;
const longest: Seconds = 12;
const longestAlone: Seconds = 5;
/** What a dip stands at for so long is a stage of it. */
const stageSeconds: Seconds = 0.3;
/** A charging source takes this long to come up. */
const settleSeconds: Seconds = 8;
/** What stands at least this long is a level; shorter is the way from one to another. */
const standing: Seconds = 1;
/** Dips at least this share as deep are of the same kind: keying does not crank. */
const rivalShare = 0.75;
/** A crank begins at rest: nobody cranks while keyed. */
const restSeconds: Seconds = 60;
const restVolts: Volts = 0.35;
/**
 * A dip after which nothing charges began at rest by less than this, or where a key was let go and the battery recovers:
 * else it may be a contact that opened while keyed.
 */
const keyedVolts: Volts = 0.08;
/** No starter pulls a battery so low: a contact has opened. */
export const openVolts: Volts = 1;

/**
 * Dips that are cranks, as ranges of stretches.
 * @param volts positive level at or near the battery in each stretch, NaN nowhere
 * @param lows the lowest volts seen in each stretch: a starter's first pull is deeper than what follows
 * @param slowest interval of the log: a dip may have lasted that much less than its stretch
 * @param battery lithium rests higher and is pulled less low (from memory)
 * @param ripples whether the log scatters more after a dip, from its first stretch to its last, than before; null where
 *   the volts are not of the battery's own posts: there a contact that opens shows, and crackles, too
 */
export function findCranks(
  starts: Float64Array,
  ends: Float64Array,
  volts: Float64Array,
  lows: Float64Array,
  slowest: Seconds,
  battery: keyof typeof highestDip,
  ripples: ((first: number, last: number) => boolean) | null,
): Crank[] {
  const highest = highestDip[battery];
  const dipsOf = (least: Volts) => findDips(starts, ends, volts, slowest, least).map((dip) => deepened(dip, lows));
  const dips = dipsOf(leastDepth);
  const smaller = (dip: Dip) => {
    let count = 0;
    for (let k = 1; k < volts.length; k++) {
      const step = Math.abs(volts[k]! - volts[k - 1]!);
      if ((k < dip.first || k > dip.last + 1) && step < dip.depth / 2) count++;
    }
    return count;
  };
  const deep = dips.filter((dip) => {
    const rivals = dips.filter(
      (other) => other !== dip && other.depth > rivalShare * dip.depth && other.rise < riseVolts,
    );
    const starters = ripples !== null && dip.lowestVolts < starterVolts && dip.depth > starterDepth;
    const rested = (allowed: Volts) => starters || fromRest(starts, volts, dip, allowed);
    if (dip.lowestVolts > highest || dip.lowestVolts < openVolts || !rested(restVolts)) return false;
    if (dip.rise > riseVolts) return rivals.length <= 1 || dip.lowestVolts < starterVolts;
    const idle = rested(keyedVolts) || (cameUp(volts, dip) && isOneStage(starts, ends, volts, dip));
    if (rivals.length > 0 || dip.seconds > longestAlone + slowest || !idle) return false;
    return (dip.lowestVolts < starterVolts && dip.depth > 1) || smaller(dip) >= 4;
  });
  const shallow = dipsOf(shallowDepth).filter(
    (dip) =>
      dip.lowestVolts < highest &&
      dip.rise > chargingRise &&
      dip.before + dip.rise > chargingVolts &&
      fromRest(starts, volts, dip, restVolts) &&
      dip.seconds < shallowSeconds + slowest &&
      !overlaps(deep, dip),
  );
  const rippled = dipsOf(rippledDepth).filter(
    (dip) =>
      fromRest(starts, volts, dip, keyedVolts) &&
      dip.seconds < longestAlone + slowest &&
      !overlaps([...deep, ...shallow], dip) &&
      ripples?.(dip.first, dip.last) === true,
  );
  return [...deep, ...shallow, ...rippled];
}

const overlaps = (dips: readonly Dip[], { first, last }: Dip): boolean =>
  dips.some((other) => other.first <= last && other.last >= first);

interface Dip extends Crank {
  /** level before the dip, and how far below it the dip goes */
  readonly before: Volts;
  readonly depth: Volts;
  /** level after the dip less the level before */
  readonly rise: Volts;
  readonly seconds: Seconds;
}

function findDips(
  starts: Float64Array,
  ends: Float64Array,
  volts: Float64Array,
  slowest: Seconds,
  least: Volts,
): Dip[] {
  const dips: Dip[] = [];
  const stands = (k: number) => ends[k]! - starts[k]! >= Math.min(standing, 2 * slowest);
  let before = 0;
  for (let k = 1; k < volts.length - 1; k++) {
    if (volts[k]! > volts[before]! - least) {
      if (stands(k)) before = k;
      continue;
    }
    const dip = dipAt(starts, ends, volts, before, k);
    if (dip === null || dip.seconds > longest + slowest) {
      // Another load, or a key held for long: from its level the battery may still be cranked.
      if (stands(k)) before = k;
      continue;
    }
    dips.push(dip);
    before = Math.min(dip.last + 1, volts.length - 1);
    k = before;
  }
  return dips;
}

function deepened(dip: Dip, lows: Float64Array): Dip {
  const lowestVolts = lows.subarray(dip.first, dip.last + 1).reduce((least, low) => Math.min(least, low));
  return { ...dip, lowestVolts, depth: dip.before - lowestVolts };
}

/** Whether the dip began no lower than the battery stood before, or charging lifts it above all of that. */
function fromRest(starts: Float64Array, volts: Float64Array, { first, before, rise }: Dip, allowed: Volts): boolean {
  const bound = Math.max(before + allowed, before + rise - riseVolts);
  for (let k = first - 1; k >= 0 && starts[first]! - starts[k]! < restSeconds; k--) {
    if (volts[k]! > bound) return false;
  }
  return true;
}

/** Whether the level before a dip was come to from a lower one: a key was let go. */
function cameUp(volts: Float64Array, { first, before }: Dip): boolean {
  for (let k = first - 1; k >= 0; k--) if (Math.abs(volts[k]! - before) > keyedVolts) return volts[k]! < before;
  return false;
}

/** Whether a dip stands at no level but its own: what is keyed first and then opens stands at two. */
function isOneStage(starts: Float64Array, ends: Float64Array, volts: Float64Array, dip: Dip): boolean {
  for (let k = dip.first; k <= dip.last; k++) {
    if (ends[k]! - starts[k]! > stageSeconds && dip.before - volts[k]! < dip.depth / 2) return false;
  }
  return true;
}

/** The dip that k is in, from where it left the level before to where most of it is made up; null where it never is. */
function dipAt(starts: Float64Array, ends: Float64Array, volts: Float64Array, before: number, k: number): Dip | null {
  const level = volts[before]!;
  const first = before + 1 + firstBelow(volts.subarray(before + 1, k + 1), level - 0.2);
  let last = k;
  let lowestVolts = volts[k]!;
  while (last + 1 < volts.length && volts[last + 1]! < lowestVolts + 0.6 * (level - lowestVolts)) {
    last++;
    lowestVolts = Math.min(lowestVolts, volts[last]!);
  }
  if (last + 1 >= volts.length) return null;
  const rise = levelAfter(starts, volts, last + 1) - level;
  return {
    first,
    last,
    lowestVolts,
    before: level,
    depth: level - lowestVolts,
    rise,
    seconds: ends[last]! - starts[first]!,
  };
}

function firstBelow(volts: Float64Array, bound: Volts): number {
  const found = volts.findIndex((value) => value < bound);
  return found < 0 ? volts.length - 1 : found;
}

/** The highest level reached soon after a dip, before any other. */
function levelAfter(starts: Float64Array, volts: Float64Array, first: number): Volts {
  let highest = volts[first]!;
  for (let k = first + 1; k < volts.length && starts[k]! < starts[first]! + settleSeconds; k++) {
    if (volts[k]! < volts[first]! - riseVolts) break;
    if (volts[k]! > highest) highest = volts[k]!;
  }
  return highest;
}
