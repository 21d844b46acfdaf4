/**
 * A log in which nothing steps: whether it was idle or transmitting all through, where that can be said.
 */
import type { Job, RadioState } from "../job/job.ts";
import type { Amps, Seconds } from "../units.ts";
import type { ClockedLog, PreparedLog } from "./stretch.ts";

/** Common practice: nobody holds the key of a set under test so long without a pause. */
const longestKeyed: Seconds = 60;

/** Least ohms of a sound battery, and of it with a short heavy run, from memory; and the least a set draws more when keyed. */
const leastOhms = { battery: 0.003, load: 0.006 } as const;
const unknownAmps: Amps = 3;

/** Null where neither declared currents nor duration tell. */
export function constantRadio(job: Job, group: readonly ClockedLog[]): RadioState | null {
  for (const { log } of group) {
    if (log.movement.sight !== "current") continue;
    const told = new Set(log.segments.map(({ level }) => byAmps(job, Math.abs(level))));
    const [state] = told;
    if (told.size === 1 && state !== null) return state!;
  }
  const long = group.some(({ log }) => {
    const { seconds } = log.samples;
    return seconds[seconds.length - 1]! >= longestKeyed && wouldShow(log);
  });
  return long ? "idle" : null;
}

/** Whether keying would stand out in a volts log, through the least that battery and wiring have, and nothing does. */
function wouldShow({ movement, noise, samples, segments }: PreparedLog): boolean {
  if (movement.sight !== "battery" && movement.sight !== "load") return false;
  const leastVolts = (movement.expectedAmps ?? unknownAmps) * leastOhms[movement.sight];
  if (leastVolts <= 5 * Math.hypot(noise.sample / 3, samples.resolution / Math.sqrt(12))) return false;
  // What steps by as much may have been keyed, though nothing says when.
  return segments.every(({ level }, k) => k === 0 || Math.abs(level - segments[k - 1]!.level) < leastVolts);
}

/** How near a clamp comes to the declared keyed amps where its levels are the load's own. */
const asDeclared = { least: 0.75, most: 1.35 } as const;

/**
 * Keyed or idle by the amps alone, for each level of a clamp; null where they could be either, and everywhere where the
 * clamp does not show both declared currents: it may sit where others' flow as well, or the set run at less power.
 */
export function radioByAmps(job: Job, levels: Float64Array): (RadioState | null)[] {
  const { transmitAmps = Number.NaN, idleAmps } = job.load;
  const amps = levels.map(Math.abs);
  const highest = amps.reduce((most, each) => Math.max(each, most), 0);
  const told = Array.from(amps, (each) => byAmps(job, each));
  const declared = highest > asDeclared.least * transmitAmps && highest < asDeclared.most * transmitAmps;
  return declared && idleAmps !== undefined && told.includes("idle") ? told : told.map(() => null);
}

function byAmps(job: Job, amps: number): RadioState | null {
  const { idleAmps, transmitAmps } = job.load;
  if (transmitAmps === undefined) return null;
  if (amps > 0.6 * transmitAmps) return "transmit";
  const idle = idleAmps ?? 0.1 * transmitAmps;
  return amps < Math.max(0.25 * transmitAmps, 1.5 * idle) && idle < 0.3 * transmitAmps ? "idle" : null;
}
