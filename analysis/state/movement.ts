/**
 * How a recording moves when the set is keyed, as the loop says: which way, and how closely it follows the load's current.
 */
import type { Job, Recording } from "../job/job.ts";
import { routeBetween } from "../job/route.ts";

/**
 * What a recording sees of the loop.
 * `current`: a clamp. `drop`: parts of the loop without load and battery, proportional to the load's current.
 * `load`: across the load, source sag and the drops of what lies outside. `battery`: the battery's own posts.
 */
export type Sight = "current" | "drop" | "load" | "battery";

export interface Movement {
  /** 1 when keying raises the values, −1 when it lowers them */
  readonly direction: 1 | -1;
  /** 1, or −1 where the probes are swapped: the values are negative where they should be positive */
  readonly polarity: 1 | -1;
  readonly sight: Sight;
  /** parts of the loop between the probes, the load aside; 0 for a clamp */
  readonly partsPassed: number;
  /** where it sees a drop, the parts it goes across, by id; empty elsewhere */
  readonly across: readonly string[];
  /** step of a clamp when keyed, as declared; null where unknown */
  readonly expectedAmps: number | null;
  /** idle over transmit current, as declared; null where unknown */
  readonly idleShare: number | null;
}

/**
 * @param isTurned whether the log's values are mostly negative. A supply's volts and a load's current are positive: then a
 *   clamp was put on the wrong way round, or probes were swapped
 */
export function movementOf(job: Job, recording: Recording, isTurned: boolean): Movement {
  const { idleAmps, transmitAmps } = job.load;
  const known = idleAmps !== undefined && transmitAmps !== undefined && transmitAmps > idleAmps;
  const declared = {
    expectedAmps: known ? transmitAmps - idleAmps : null,
    idleShare: known ? idleAmps / transmitAmps : null,
  };
  if (recording.from === undefined || recording.to === undefined) {
    const turned = isTurned ? -1 : 1;
    return { direction: turned, polarity: turned, sight: "current", partsPassed: 0, across: [], ...declared };
  }
  const route = routeBetween(job, recording.from, recording.to);
  const sight = !route.throughLoad ? "drop" : route.parts.length === allParts(job) ? "battery" : "load";
  const partsPassed = route.parts.length;
  if (!route.throughLoad) {
    const across = route.parts.map((part) => part.id);
    return { direction: route.sign, polarity: route.sign, sight, partsPassed, across, ...declared };
  }
  const polarity = isTurned ? -1 : 1;
  return { direction: polarity === 1 ? -1 : 1, polarity, sight, partsPassed, across: [], ...declared };
}

const allParts = (job: Job): number => job.loop.filter((item) => "part" in item && item.part !== "load").length;
