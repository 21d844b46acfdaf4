/**
 * Ampacity by the standard for small craft of the metric countries, where the job names it as the code that applies.
 * The whole table is from memory and nobody has looked it up: it can pass a wire or warn of it, and never fails one.
 */
import type { Job, Wire } from "../../job/job.ts";
import { wireSquareMillimetres } from "../../loop/wire.ts";
import type { Amps, Celsius, SquareMillimetres } from "../../units.ts";
import { type ProtectionCheck, show } from "./check.ts";
import { namesIso } from "./local-rules.ts";
import { type ProtectedWire, protectedWires, smallestRatingAmps } from "./protected-wire.ts";

/** The table's 85 to 90 °C column counts from 85 °C on. */
export const isoClasses: readonly Celsius[] = [60, 70, 85, 105, 125, 200];

/** Amperes of a single copper conductor, 30 °C ambient. Source: ISO 10133 and ISO 13297 Annex A, from memory. */
export const isoTable: readonly (readonly [squareMillimetres: SquareMillimetres, amps: readonly Amps[]])[] = [
  //    60,  70,  85, 105, 125, 200 °C
  [0.75, [6, 10, 12, 16, 20, 25]],
  [1, [8, 14, 18, 20, 25, 35]],
  [1.5, [12, 18, 21, 25, 30, 40]],
  [2.5, [17, 25, 30, 35, 40, 45]],
  [4, [22, 35, 40, 45, 50, 55]],
  [6, [29, 45, 50, 60, 70, 75]],
  [10, [40, 65, 70, 90, 100, 120]],
  [16, [54, 90, 100, 130, 150, 170]],
  [25, [71, 120, 140, 170, 185, 200]],
  [35, [87, 160, 185, 210, 225, 240]],
  [50, [105, 210, 230, 270, 300, 325]],
  [70, [135, 265, 285, 330, 360, 375]],
  [95, [165, 310, 330, 390, 410, 430]],
];

/** Sizes of American gauges fall short of a metric one by this much and are sold as it. */
const sameSizeShare = 0.98;

/**
 * @returns amperes of the next listed size at or below the wire's, in the column at or below its insulation (the lowest
 * where that is not declared); null where it is thinner or poorer than any listed
 * @example isoAmpacity({ part: "wire", id: "feed", squareMillimetres: 6, metres: 4, insulationCelsius: 105 }) // 60
 */
export function isoAmpacity(wire: Wire): Amps | null {
  const size = wireSquareMillimetres(wire);
  const row = isoTable.findLast(([listed]) => sameSizeShare * listed <= size);
  const column = isoClasses.findLastIndex((listed) => listed <= (wire.insulationCelsius ?? isoClasses[0]!));
  return row === undefined || column < 0 ? null : row[1][column]!;
}

/** One check a wire behind a fuse, and only where the job's `rules` name the standard. */
export function isoAmpacityChecks(job: Job): ProtectionCheck[] {
  if (!namesIso(job.rules ?? "")) return [];
  return protectedWires(job)
    .filter(({ fuses }) => fuses.length > 0)
    .map(isoCheck);
}

function isoCheck({ wire, fuses }: ProtectedWire): ProtectionCheck {
  const rating = smallestRatingAmps(fuses);
  const amps = wire.unknown?.includes("size") ? null : isoAmpacity(wire);
  const kept = rating !== null && amps !== null && rating <= amps;
  return {
    part: wire.id,
    check: "fuse against the wire's ampacity by ISO 10133 / 13297",
    pass: kept ? true : null,
    detail:
      rating === null || amps === null
        ? "the fuse's rating and a listed size should be declared to tell"
        : `fuse ${show(rating)} A; ${show(amps)} A by a table that is from memory: look it up before relying on it`,
    source: "ISO 10133 and ISO 13297, Annex A, single conductor at 30 °C, from memory",
  };
}
