/**
 * Which fuses stand between the battery and each wire of the loop.
 */

import type { Leg } from "../../diagnosis.ts";
import type { Fuse, Job, Wire } from "../../job/job.ts";
import { legOf, partsOf } from "../../job/route.ts";

export interface ProtectedWire {
  readonly wire: Wire;
  readonly leg: Leg;
  /**
   * Fuses that a fault current in this wire must pass. On the supply leg those before it. On the return leg every
   * fuse of the loop: a fault there comes through the load.
   */
  readonly fuses: readonly Fuse[];
}

export const fusesOf = (job: Job, leg: Leg): Fuse[] =>
  partsOf(job).filter((part): part is Fuse => part.part === "fuse" && legOf(job, part.id) === leg);

export function protectedWires(job: Job): ProtectedWire[] {
  const parts = partsOf(job);
  const isFuse = (part: (typeof parts)[number]): part is Fuse => part.part === "fuse";
  return parts.flatMap((part, i): ProtectedWire[] => {
    if (part.part !== "wire") return [];
    const leg = legOf(job, part.id);
    return [{ wire: part, leg, fuses: (leg === "supply" ? parts.slice(0, i) : parts).filter(isFuse) }];
  });
}

/** The smallest declared rating among fuses in series; null where a rating is not declared or there is no fuse. */
export function smallestRatingAmps(fuses: readonly Fuse[]): number | null {
  const ratings = fuses.map(({ ratingAmps }) => ratingAmps).filter((rating) => rating !== undefined);
  return ratings.length > 0 ? Math.min(...ratings) : null;
}
