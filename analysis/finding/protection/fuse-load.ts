/**
 * Each fuse against what the load draws: for long, and at its peak.
 */
import type { Fuse, Job } from "../../job/job.ts";
import type { Amps } from "../../units.ts";
import { bothWithin, type ProtectionCheck, rangeWords, show } from "./check.ts";
import { fuseBands, shortestOpeningSeconds } from "./fuse-band.ts";
import type { LoadAmps } from "./load-amps.ts";
import { fusesOf } from "./protected-wire.ts";

/** Share of its rating that a fuse may carry for long: the "125 % rule" of a fuse guide; common practice. */
const continuousShare = 0.8;
/** Ratings hold at this temperature; each kelvin more takes up to this share. Source: a general derating guide; common practice. */
const ratedCelsius = 25;
const lostPerKelvin = 0.002;

/** Average over full-power current while keyed; seen in an amateur-radio article: speech SSB 20 to 25 %, CW 40 %, FM all of it. */
const averageShare = { ssb: 0.25, cw: 0.4, fm: 1, "time-slotted": 1 } as const;

/** @param load null: what it draws is not known */
export function fuseLoadChecks(job: Job, load: LoadAmps | null): ProtectionCheck[] {
  const fuses = [...fusesOf(job, "supply"), ...fusesOf(job, "return")];
  return fuses.flatMap((fuse) => [
    continuousCheck(job, fuse, load),
    peakCheck(fuse, load),
    ...openingCheck(fuse, load),
  ]);
}

/** What the fuse warms to: a current while keyed, eased by how the set is modulated where the job says so. */
function continuousAmps({ load }: Job, transmitAmps: Amps): Amps {
  const idle = load.idleAmps ?? 0;
  return idle + averageShare[load.emission ?? "fm"] * Math.max(0, transmitAmps - idle);
}

function continuousCheck(job: Job, fuse: Fuse, load: LoadAmps | null): ProtectionCheck {
  const rating = fuse.ratingAmps;
  const warmth = Math.max(0, (job.ambientCelsius ?? ratedCelsius) - ratedCelsius);
  const limit = continuousShare * (rating ?? 0);
  const hotLimit = limit * (1 - lostPerKelvin * warmth);
  const check = {
    part: fuse.id,
    check: "fuse against continuous load current",
    source: `common practice: continuous load at most 75 to 80 % of the rating at 25 °C${warmth > 0 ? ", 0.2 % less for each kelvin above" : ""}`,
  };
  if (load === null || rating === undefined) return { ...check, pass: null, detail: missing(load, rating) };
  const [low, high] = [load.lowAmps, load.highAmps].map((amps) => continuousAmps(job, amps)) as [Amps, Amps];
  return {
    ...check,
    pass: bothWithin({ lowAmps: low, highAmps: high }, hotLimit, limit),
    detail: `${rangeWords(low, high)} A keyed for long${low < high ? ", as measured" : ""}; at most ${show(limit)} A, 80 % of the ${show(rating)} A rating${warmth > 0 ? `, ${show(hotLimit)} A at ${show(job.ambientCelsius!)} °C` : ""}`,
  };
}

function peakCheck(fuse: Fuse, load: LoadAmps | null): ProtectionCheck {
  const rating = fuse.ratingAmps;
  const known = load !== null && rating !== undefined;
  return {
    part: fuse.id,
    check: "fuse against peak load current",
    pass: known ? bothWithin(load, rating, rating) : null,
    detail: known ? `${load.words}; the fuse is rated ${show(rating)} A` : missing(load, rating),
    source: "the rating itself: a fuse is not made to carry more",
  };
}

/** How soon a fuse that is overloaded may open in use: its band is from memory, so that this only warns. */
function openingCheck({ id, style, ratingAmps }: Fuse, load: LoadAmps | null): ProtectionCheck[] {
  if (load === null || ratingAmps === undefined || load.highAmps <= ratingAmps) return [];
  const soonest = shortestOpeningSeconds(style, ratingAmps, load.highAmps);
  if (soonest === 0) return [];
  const words = Number.isFinite(soonest) ? `may open after ${show(soonest)} s` : "carries that for 100 h or more";
  return [
    {
      part: id,
      check: "how soon the fuse may open at transmit",
      pass: null,
      detail: `${show((100 * load.highAmps) / ratingAmps)} % of its rating: it ${words}`,
      source: fuseBands[style].bandSource,
    },
  ];
}

const missing = (load: LoadAmps | null, rating: Amps | undefined): string =>
  [load === null ? "the load's transmit current" : "", rating === undefined ? "the fuse's rating" : ""]
    .filter((words) => words !== "")
    .join(" and ")
    .concat(" should be declared to tell");
