/**
 * What a log that sees the source says of the charging: how high it stands once it has come up, keyed or not.
 */
import type { Job } from "../job/job.ts";
import { comingUpSeconds } from "../state/engine.ts";
import type { LogEvent, Plateau } from "../state/plateau.ts";
import { batteryOhms } from "../state/signals.ts";
import type { Volts } from "../units.ts";

/** More than keying moves most sources. */
const clearlyLower: Volts = 0.2;

/** Plateaus without those on which the charging was still coming up: a later one after the same start stands clearly higher. */
export function withoutComingUp(plateaus: readonly Plateau[], events: readonly LogEvent[]): Plateau[] {
  const starts = events.filter(({ kind }) => kind === "engine-start").map(({ seconds }) => seconds);
  return plateaus.filter((plateau, i) => {
    const soonAfter = starts.some(
      (start) => plateau.startSeconds > start - 1 && plateau.startSeconds < start + comingUpSeconds,
    );
    if (plateau.engine !== "running" || !soonAfter) return true;
    const later = plateaus.slice(i + 1).filter(({ engine }) => engine === "running");
    return !later.some(({ value }) => Math.abs(value) - Math.abs(plateau.value) > clearlyLower);
  });
}

/** A sound source's ohms, and those of wiring with it, by which keying lowers what is seen; from memory. */
const usualOhms = { battery: batteryOhms.middle, load: 0.04 } as const;
const usualAmps = 10;

/**
 * Half of what keying moves this log: so far is a level off of which nobody knows whether the set was keyed.
 * Seen in the log itself where another engine state shows both, else usual.
 */
export function keyingDoubt(job: Job, plateaus: readonly Plateau[], sight: "battery" | "load"): Volts {
  const level = (radio: Plateau["radio"]) => {
    const seen = plateaus.filter((plateau) => plateau.radio === radio && plateau.disturbance === null);
    return seen.reduce((sum, { value }) => sum + value, 0) / seen.length;
  };
  const step = Math.abs(level("idle") - level("transmit"));
  return (Number.isNaN(step) ? (job.load.transmitAmps ?? usualAmps) * usualOhms[sight] : step) / 2;
}
