/**
 * A fuse in its holder: the link's ohms follow from its rating, the holder's two contacts add theirs.
 */
import type { Fuse } from "../job/job.ts";
import type { FuseStyle } from "../job/part-styles.ts";
import type { Amps, Ohms } from "../units.ts";
import { linkSpread, linkWarmth, type SoundOhms, soundHolder, soundLink, unknownRatingSpread } from "./sound-part.ts";

/** Load current over fuse rating that fitters aim at: 15 A on a 20 A fuse; common practice. */
const usualLoading = 0.75;
/** Rating supposed where neither the fuse nor the load says anything. */
const usualRatingAmps: Amps = 20;

/**
 * Ohms of the link alone, cold: straight lines between the tabled ratings in the logarithms of both.
 * @param ratingAmps > 0
 * @example fuseLinkOhms("blade", 20) // 0.00338
 */
export function fuseLinkOhms(style: FuseStyle, ratingAmps: Amps): Ohms {
  const table = soundLink[style];
  const found = table.findIndex(([rating]) => rating >= ratingAmps);
  const above = found < 0 ? table.length - 1 : Math.max(found, 1);
  const [lowAmps, lowOhms] = table[above - 1]!;
  const [highAmps, highOhms] = table[above]!;
  const along = Math.log(ratingAmps / lowAmps) / Math.log(highAmps / lowAmps);
  return lowOhms * (highOhms / lowOhms) ** along;
}

/**
 * Median and spread of a sound fuse with its holder, at the usual load.
 * Spreads add as the variances of the sum of two log-normal parts, to first order.
 * @param transmitAmps what the load draws, where it is declared: stands in for a rating that is not
 * @example soundFuse({ part: "fuse", id: "f", style: "blade", ratingAmps: 20 }, 11.5).ohms // 0.00569
 */
export function soundFuse(fuse: Fuse, transmitAmps: Amps | undefined): SoundOhms {
  const rating = fuse.ratingAmps ?? (transmitAmps === undefined ? usualRatingAmps : transmitAmps / usualLoading);
  const holder = soundHolder[fuse.style];
  const link = linkWarmth * fuseLinkOhms(fuse.style, rating);
  const ohms = link + holder.ohms;
  const known = Math.hypot(link * linkSpread, holder.ohms * holder.spread) / ohms;
  return {
    ohms,
    spread: fuse.ratingAmps === undefined ? Math.hypot(known, unknownRatingSpread) : known,
    source: `link of ${Math.round(rating)} A by type table, from memory; holder ${holder.source}`,
  };
}
