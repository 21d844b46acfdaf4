/**
 * Each wire against the fuse before it and against the load's current: nothing may run hotter than its insulation stands.
 */
import type { Job } from "../../job/job.ts";
import { assumedAmbientCelsius } from "../../loop/expected-part.ts";
import { wireSquareMillimetres } from "../../loop/wire.ts";
import type { Amps } from "../../units.ts";
import { type Ampacity, ampacityTable, wireAmpacity } from "./ampacity.ts";
import { bothWithin, type ProtectionCheck, show, withinLimit } from "./check.ts";
import type { LoadAmps } from "./load-amps.ts";
import { fusesOf, type ProtectedWire, protectedWires, smallestRatingAmps } from "./protected-wire.ts";

/** 33 CFR 183.455(c)(1), circuits below 50 V: a narrow allowance, not a design rule. */
const boatAllowance = 1.5;

/** Ratings that the trade sells, for "the next size up" of ABYC E-11; common practice. */
const standardRatings: readonly Amps[] = [
  1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400,
];

/** @param load null: what it draws is not known */
export function wireLoadChecks(job: Job, load: LoadAmps | null): ProtectionCheck[] {
  const wires = protectedWires(job);
  return wires.flatMap((item, i) => [
    // a wire before the first fuse is judged by the fuse's distance
    ...(item.fuses.length > 0 ? [fuseCheck(job, item)] : []),
    loadCheck(job, item, load),
    ...stepDownCheck(job, item, wires[i - 1]),
  ]);
}

const ampacityIn = (job: Job, { wire }: ProtectedWire): Ampacity =>
  wireAmpacity(wire, job.ambientCelsius ?? assumedAmbientCelsius);

function fuseCheck(job: Job, item: ProtectedWire): ProtectionCheck {
  const rating = smallestRatingAmps(item.fuses);
  const ampacity = ampacityIn(job, item);
  const boat = job.setting === "boat";
  return {
    part: item.wire.id,
    check: "fuse against the wire's ampacity",
    pass: rating === null ? null : ratingPasses(rating, ampacity, boat),
    detail:
      rating === null
        ? "the fuse's rating should be declared to tell"
        : `fuse ${show(rating)} A; wire ${ampacityWords(ampacity)}`,
    source: boat
      ? `33 CFR 183.455(c)(1), ABYC E-11; ${ampacityTable}`
      : `general practice: rating no higher than ampacity; amperes of ${ampacityTable}`,
  };
}

function ratingPasses(rating: Amps, { lowAmps, highAmps }: Ampacity, boat: boolean): boolean | null {
  if (!boat) return withinLimit(rating, lowAmps, highAmps);
  const nextUp = standardRatings.find((standard) => standard >= lowAmps) ?? lowAmps;
  const allowedAmps = Math.min(nextUp, boatAllowance * lowAmps);
  return withinLimit(rating, Math.max(lowAmps, allowedAmps), boatAllowance * highAmps);
}

function ampacityWords({ lowAmps, highAmps, basis }: Ampacity): string {
  if (lowAmps === 0 && !Number.isFinite(highAmps)) return `of unknown ampacity (${basis})`;
  if (!Number.isFinite(highAmps)) return `carries ${show(lowAmps)} A or more (${basis})`;
  if (lowAmps === highAmps) return `carries ${highAmps === 0 ? "nothing" : `${show(lowAmps)} A`} (${basis})`;
  return `carries ${lowAmps === 0 ? "" : `${show(lowAmps)} A for sure, `}${show(highAmps)} A at most (${basis})`;
}

function loadCheck(job: Job, item: ProtectedWire, load: LoadAmps | null): ProtectionCheck {
  const ampacity = ampacityIn(job, item);
  return {
    part: item.wire.id,
    check: "load current against the wire's ampacity",
    pass: load === null ? null : bothWithin(load, ampacity.lowAmps, ampacity.highAmps),
    detail:
      load === null
        ? "the load's transmit current should be declared to tell"
        : `${load.words}; wire ${ampacityWords(ampacity)}`,
    source: ampacityTable,
  };
}

/**
 * Where the feed goes on in a thinner wire, that wire needs a fuse of its own, or one before it that is small enough.
 * Before the first fuse the same distance is allowed from a step as from the battery, and that is judged already.
 */
function stepDownCheck(job: Job, item: ProtectedWire, previous: ProtectedWire | undefined): ProtectionCheck[] {
  if (item.leg !== "supply" || previous === undefined) return [];
  if (item.fuses.length === 0 && fusesOf(job, "supply").length > 0) return [];
  if (wireSquareMillimetres(item.wire) > 0.98 * wireSquareMillimetres(previous.wire)) return [];
  const own = item.fuses.length > previous.fuses.length;
  const rating = smallestRatingAmps(item.fuses);
  const ampacity = ampacityIn(job, item);
  const pass = rating === null ? null : ratingPasses(rating, ampacity, job.setting === "boat");
  return [
    {
      part: item.wire.id,
      check: "thinner branch has its own fuse",
      pass: item.fuses.length === 0 ? false : pass,
      detail: own
        ? `thinner than '${previous.wire.id}', with a fuse between${rating === null ? "" : ` (${show(rating)} A)`}`
        : `thinner than '${previous.wire.id}', no fuse between; protected by ${rating === null ? "none of known rating" : `${show(rating)} A`}`,
      source: "33 CFR 183.455(b) on boats; general practice: a fuse where the conductor gets smaller",
    },
  ];
}
