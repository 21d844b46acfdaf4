/**
 * Each fuse against what the load draws: for long, and at its peak.
 */
import type { Fuse, Job } from "../../job/job.ts";
import type { Amps } from "../../units.ts";
import { type ProtectionCheck, show, withinLimit } from "./check.ts";
import { fusesOf } from "./protected-wire.ts";

/** Share of its rating that a fuse may carry for long: the "125 % rule" of a fuse guide; common practice. */
const continuousShare = 0.8;

/** Average over full-power current while keyed; seen in an amateur-radio article: speech SSB 20 to 25 %, CW 40 %, FM all of it. */
const averageShare = { ssb: 0.25, cw: 0.4, fm: 1, "time-slotted": 1 } as const;

export function fuseLoadChecks(job: Job): ProtectionCheck[] {
  const fuses = [...fusesOf(job, "supply"), ...fusesOf(job, "return")];
  return fuses.flatMap((fuse) => [continuousCheck(job, fuse), peakCheck(job, fuse)]);
}

/** What the fuse warms to: the transmit current, eased by how the set is modulated where the job says so. */
function continuousAmps({ load }: Job): Amps | null {
  if (load.transmitAmps === undefined) return null;
  const idle = load.idleAmps ?? 0;
  return idle + averageShare[load.emission ?? "fm"] * Math.max(0, load.transmitAmps - idle);
}

function continuousCheck(job: Job, fuse: Fuse): ProtectionCheck {
  const amps = continuousAmps(job);
  const rating = fuse.ratingAmps;
  const limit = rating === undefined ? null : continuousShare * rating;
  return {
    part: fuse.id,
    check: "fuse against continuous load current",
    pass: amps === null || limit === null ? null : withinLimit(amps, limit, limit),
    detail:
      amps === null || limit === null
        ? missing(amps, rating)
        : `${show(amps)} A keyed for long; at most ${show(limit)} A, 80 % of the ${show(rating!)} A rating`,
    source: "common practice: continuous load at most 75 to 80 % of the rating at 25 °C",
  };
}

function peakCheck(job: Job, fuse: Fuse): ProtectionCheck {
  const amps = job.load.transmitAmps ?? null;
  const rating = fuse.ratingAmps;
  return {
    part: fuse.id,
    check: "fuse against peak load current",
    pass: amps === null || rating === undefined ? null : amps <= rating,
    detail:
      amps === null || rating === undefined
        ? missing(amps, rating)
        : `${show(amps)} A at transmit; the fuse is rated ${show(rating)} A`,
    source: "the rating itself: a fuse is not made to carry more",
  };
}

const missing = (amps: Amps | null, rating: Amps | undefined): string =>
  [amps === null ? "the load's transmit current" : "", rating === undefined ? "the fuse's rating" : ""]
    .filter((words) => words !== "")
    .join(" and ")
    .concat(" should be declared to tell");
