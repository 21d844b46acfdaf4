/**
 * When a fuse opens, and what it can break: the time-current bands by style.
 * All of it from memory but the glass row and the 1000 A of blade fuses, so nothing here may fail an install.
 */
import type { FuseStyle } from "../../job/part-styles.ts";
import type { Amps, Seconds } from "../../units.ts";

/** current over rating → longest opening time; below the first entry it may never open */
type Band = readonly (readonly [timesRating: number, longestSeconds: Seconds])[];

export interface FuseBand {
  readonly band: Band;
  /** most that it can break, at 32 V; null: not known */
  readonly breakingAmps: Amps | null;
  readonly source: string;
}

export const fuseBands: Readonly<Record<FuseStyle, FuseBand>> = {
  blade: {
    band: [
      [1.35, 600],
      [1.6, 50],
      [2, 5],
      [3.5, 0.5],
      [6, 0.1],
    ],
    breakingAmps: 1000,
    source: "ISO 8820-3:2015 types C and F: 1000 A breaking capacity; opening times from memory",
  },
  "maxi-blade": {
    band: [
      [1.35, 1800],
      [2, 60],
      [3.5, 7],
      [6, 1],
    ],
    breakingAmps: 1000,
    source: "ISO 8820-3:2015 type E: 1000 A breaking capacity; opening times from memory",
  },
  "bolt-down": { band: [], breakingAmps: null, source: "no published band found for bolt-down fuses" },
  glass: {
    band: [
      [1.35, 3600],
      [2, 120],
    ],
    breakingAmps: null,
    source: "UL/CSA 248-14, glass cartridge: 60 min at 135 %, 2 min at 200 %",
  },
};

/**
 * Longest time that a fuse may take to open at a current. Between entries straight lines in both logarithms; past the
 * last the heat I²·t stays as it is there (the link melts before its ends warm).
 * @returns seconds; Infinity where it may never open
 * @example longestOpeningSeconds("blade", 20, 240) // 0.025
 */
export function longestOpeningSeconds(style: FuseStyle, ratingAmps: Amps, amps: Amps): Seconds {
  const { band } = fuseBands[style];
  const times = amps / ratingAmps;
  const first = band[0];
  const last = band.at(-1);
  if (first === undefined || last === undefined || times < first[0]) return Number.POSITIVE_INFINITY;
  const above = band.findIndex(([listed]) => listed > times);
  if (above < 0) return last[1] * (last[0] / times) ** 2;
  const [lowTimes, lowSeconds] = band[above - 1]!;
  const [highTimes, highSeconds] = band[above]!;
  const along = Math.log(times / lowTimes) / Math.log(highTimes / lowTimes);
  return lowSeconds * (highSeconds / lowSeconds) ** along;
}
