/**
 * When a fuse opens, and what it can break: the time-current bands by style.
 * The opening times of blade fuses are from memory; so nothing here may fail an install.
 */
import type { FuseStyle } from "../../job/part-styles.ts";
import type { Amps, Seconds } from "../../units.ts";

/** current over rating → soonest and latest opening; below the first entry it may never open */
type Band = readonly (readonly [timesRating: number, soonestSeconds: Seconds, latestSeconds: Seconds])[];

export interface FuseBand {
  readonly band: Band;
  readonly bandSource: string;
  /** most that it can break, at 32 V; null: not known */
  readonly breakingAmps: Amps | null;
  readonly breakingSource: string;
}

const isoBreaking = "ISO 8820-3:2015: 1000 A breaking capacity";
const notFound = "no published figure found: the maker's sheet says";

export const fuseBands: Readonly<Record<FuseStyle, FuseBand>> = {
  blade: {
    band: [
      [1.35, 0.75, 600],
      [1.6, 0.25, 50],
      [2, 0.15, 5],
      [3.5, 0.04, 0.5],
      [6, 0.02, 0.1],
    ],
    bandSource: "ISO 8820-3:2015 types C and F, opening times from memory",
    breakingAmps: 1000,
    breakingSource: isoBreaking,
  },
  "maxi-blade": {
    band: [
      [1.35, 60, 1800],
      [2, 2, 60],
      [3.5, 0.2, 7],
      [6, 0.04, 1],
    ],
    bandSource: "ISO 8820-3:2015 type E, opening times from memory",
    breakingAmps: 1000,
    breakingSource: isoBreaking,
  },
  "bolt-down": { band: [], bandSource: notFound, breakingAmps: null, breakingSource: notFound },
  glass: {
    band: [
      [1.35, 0, 3600],
      [2, 0, 120],
    ],
    bandSource: "UL/CSA 248-14, glass cartridge: 60 min at 135 %, 2 min at 200 %, beyond that computed",
    breakingAmps: null,
    breakingSource: notFound,
  },
};

/** 100 h: every listed fuse carries 110 % of its rating at least that long. Source: ISO 8820-3, from memory. */
export const carriedTimes = 1.1;
export const carriedSeconds: Seconds = 360_000;

/**
 * Longest time that a fuse may take to open at a current. Between entries straight lines in both logarithms; past the
 * last the heat I²·t stays as it is there (the link melts before its ends warm).
 * @returns seconds; Infinity where it may never open
 * @example longestOpeningSeconds("blade", 20, 240) // 0.025
 */
export function longestOpeningSeconds(style: FuseStyle, ratingAmps: Amps, amps: Amps): Seconds {
  return edgeSeconds(
    fuseBands[style].band.map(([times, , latest]) => [times, latest]),
    amps / ratingAmps,
  );
}

/**
 * Shortest time after which a fuse may open at a current, read off the same band.
 * @returns seconds; Infinity where it does not open in 100 h, 0 where nothing is published
 * @example shortestOpeningSeconds("blade", 20, 32) // 0.25
 */
export function shortestOpeningSeconds(style: FuseStyle, ratingAmps: Amps, amps: Amps): Seconds {
  const times = amps / ratingAmps;
  const { band } = fuseBands[style];
  if (times <= carriedTimes && band.length > 0) return Number.POSITIVE_INFINITY;
  const edge = band.map(([listed, soonest]) => [listed, soonest] as const);
  return times < (edge[0]?.[0] ?? Number.POSITIVE_INFINITY) ? (edge[0]?.[1] ?? 0) : edgeSeconds(edge, times);
}

function edgeSeconds(edge: readonly (readonly [times: number, seconds: Seconds])[], times: number): Seconds {
  const first = edge[0];
  const last = edge.at(-1);
  if (first === undefined || last === undefined || times < first[0]) return Number.POSITIVE_INFINITY;
  const above = edge.findIndex(([listed]) => listed > times);
  if (above < 0) return last[1] * (last[0] / times) ** 2;
  const [lowTimes, lowSeconds] = edge[above - 1]!;
  const [highTimes, highSeconds] = edge[above]!;
  if (lowSeconds === 0 || highSeconds === 0) return 0;
  const along = Math.log(times / lowTimes) / Math.log(highTimes / lowTimes);
  return lowSeconds * (highSeconds / lowSeconds) ** along;
}
