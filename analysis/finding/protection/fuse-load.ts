/**
 * Each fuse against what the load draws: for long, and at its peak.
 */
import type { Fuse, Job } from "../../job/job.ts";
import type { Amps } from "../../units.ts";
import { type ProtectionCheck, show, withinLimit } from "./check.ts";
import { fuseBands, shortestOpeningSeconds } from "./fuse-band.ts";
import { fusesOf } from "./protected-wire.ts";

/** Share of its rating that a fuse may carry for long: the "125 % rule" of a fuse guide; common practice. */
const continuousShare = 0.8;
/** Ratings hold at this temperature; each kelvin more takes up to this share. Source: a general derating guide; common practice. */
const ratedCelsius = 25;
const lostPerKelvin = 0.002;

/** Average over full-power current while keyed; seen in an amateur-radio article: speech SSB 20 to 25 %, CW 40 %, FM all of it. */
const averageShare = { ssb: 0.25, cw: 0.4, fm: 1, "time-slotted": 1 } as const;

export function fuseLoadChecks(job: Job): ProtectionCheck[] {
  const fuses = [...fusesOf(job, "supply"), ...fusesOf(job, "return")];
  return fuses.flatMap((fuse) => [continuousCheck(job, fuse), peakCheck(job, fuse), ...openingCheck(job, fuse)]);
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
  const known = amps !== null && rating !== undefined;
  const warmth = Math.max(0, (job.ambientCelsius ?? ratedCelsius) - ratedCelsius);
  const limit = continuousShare * (rating ?? 0);
  const hotLimit = limit * (1 - lostPerKelvin * warmth);
  return {
    part: fuse.id,
    check: "fuse against continuous load current",
    pass: known ? withinLimit(amps, hotLimit, limit) : null,
    detail: known
      ? `${show(amps)} A keyed for long; at most ${show(limit)} A, 80 % of the ${show(rating)} A rating${warmth > 0 ? `, ${show(hotLimit)} A at ${show(job.ambientCelsius!)} °C` : ""}`
      : missing(amps, rating),
    source: `common practice: continuous load at most 75 to 80 % of the rating at 25 °C${warmth > 0 ? ", 0.2 % less for each kelvin above" : ""}`,
  };
}

function peakCheck(job: Job, fuse: Fuse): ProtectionCheck {
  const amps = job.load.transmitAmps ?? null;
  const rating = fuse.ratingAmps;
  const known = amps !== null && rating !== undefined;
  return {
    part: fuse.id,
    check: "fuse against peak load current",
    pass: known ? amps <= rating : null,
    detail: known ? `${show(amps)} A at transmit; the fuse is rated ${show(rating)} A` : missing(amps, rating),
    source: "the rating itself: a fuse is not made to carry more",
  };
}

/** How soon a fuse that is overloaded may open in use: its band is from memory, so that this only warns. */
function openingCheck({ load }: Job, { id, style, ratingAmps }: Fuse): ProtectionCheck[] {
  const amps = load.transmitAmps;
  if (amps === undefined || ratingAmps === undefined || amps <= ratingAmps) return [];
  const soonest = shortestOpeningSeconds(style, ratingAmps, amps);
  if (soonest === 0) return [];
  const words = Number.isFinite(soonest) ? `may open after ${show(soonest)} s` : "carries that for 100 h or more";
  return [
    {
      part: id,
      check: "how soon the fuse may open at transmit",
      pass: null,
      detail: `${show((100 * amps) / ratingAmps)} % of its rating: it ${words}`,
      source: fuseBands[style].bandSource,
    },
  ];
}

const missing = (amps: Amps | null, rating: Amps | undefined): string =>
  [amps === null ? "the load's transmit current" : "", rating === undefined ? "the fuse's rating" : ""]
    .filter((words) => words !== "")
    .join(" and ")
    .concat(" should be declared to tell");
