/**
 * A log in which nothing steps: whether it was idle or transmitting all through, where that can be said.
 */
import type { Job, RadioState } from "../job/job.ts";
import type { Seconds } from "../units.ts";
import type { ClockedLog } from "./stretch.ts";

/** Common practice: nobody holds the key of a set under test so long without a pause. */
const longestKeyed: Seconds = 60;

/** Null where neither declared currents nor duration tell. */
export function constantRadio(job: Job, group: readonly ClockedLog[]): RadioState | null {
  for (const { log } of group) {
    if (log.movement.sight !== "current") continue;
    const amps = Math.abs(log.segments[0]?.level ?? Number.NaN);
    const state = byAmps(job, amps);
    if (state !== null) return state;
  }
  const long = group.some(({ log }) => {
    const { seconds } = log.samples;
    const passesLoad = log.movement.sight === "battery" || log.movement.sight === "load";
    return passesLoad && seconds[seconds.length - 1]! >= longestKeyed;
  });
  return long ? "idle" : null;
}

function byAmps(job: Job, amps: number): RadioState | null {
  const { idleAmps, transmitAmps } = job.load;
  if (transmitAmps === undefined) return null;
  if (amps > 0.6 * transmitAmps) return "transmit";
  const idle = idleAmps ?? 0.1 * transmitAmps;
  return amps < Math.max(0.25 * transmitAmps, 1.5 * idle) && idle < 0.3 * transmitAmps ? "idle" : null;
}
