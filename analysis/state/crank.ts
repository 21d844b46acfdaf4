/**
 * The engine being cranked: a dip of the battery by a volt or more for a second or so that keying does not explain.
 */
import type { Seconds, Volts } from "../units.ts";
import type { Crank } from "./engine.ts";

/** Depth below which a dip is no crank, with a rise after it and without. Common practice: 8 to 10.5 V while cranking. */
const depthWithRise: Volts = 0.8;
const depthAlone: Volts = 1.3;
const lowestAlone: Volts = 11.2;
const riseVolts: Volts = 0.35;
const longest: Seconds = 12;
const settleSeconds: Seconds = 8;

/**
 * Dips that are cranks, as ranges of stretches.
 * @param volts positive level at or near the battery in each stretch, NaN where unseen
 * @param slowest interval of the log: a dip may have lasted that much less than its stretch
 */
export function findCranks(starts: Float64Array, ends: Float64Array, volts: Float64Array, slowest: Seconds): Crank[] {
  const dips = findDips(starts, ends, volts, slowest);
  return dips.filter((dip) => {
    const rivals = dips.filter((other) => other !== dip && other.depth > 0.5 * dip.depth).length;
    if (dip.rise > riseVolts && dip.depth > depthWithRise) return rivals <= 1 || dip.lowestVolts < lowestAlone;
    return rivals === 0 && dip.depth > depthAlone && dip.lowestVolts < lowestAlone && dip.seconds <= 4 + slowest;
  });
}

interface Dip extends Crank {
  readonly depth: Volts;
  /** level after the dip less the level before */
  readonly rise: Volts;
  readonly seconds: Seconds;
}

function findDips(starts: Float64Array, ends: Float64Array, volts: Float64Array, slowest: Seconds): Dip[] {
  const dips: Dip[] = [];
  for (let k = 1; k < volts.length - 1; k++) {
    const before = volts[k - 1]!;
    if (!(volts[k]! < before - depthWithRise)) continue;
    let last = k;
    while (last + 1 < volts.length && volts[last + 1]! < before - depthWithRise / 2) last++;
    const seconds = ends[last]! - starts[k]!;
    if (last + 1 < volts.length && seconds <= longest + slowest) {
      const lowestVolts = Math.min(...volts.subarray(k, last + 1));
      dips.push({
        first: k,
        last,
        lowestVolts,
        depth: before - lowestVolts,
        rise: levelAfter(starts, volts, last + 1) - before,
        seconds,
      });
    }
    k = last;
  }
  return dips;
}

/** The highest level reached soon after a dip. */
function levelAfter(starts: Float64Array, volts: Float64Array, first: number): Volts {
  let highest = volts[first]!;
  for (let k = first + 1; k < volts.length && starts[k]! < starts[first]! + settleSeconds; k++) {
    if (volts[k]! > highest) highest = volts[k]!;
  }
  return highest;
}
