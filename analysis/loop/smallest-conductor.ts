/**
 * The smallest standard conductor with which the whole run would keep its limit, every other part as it is.
 */
import type { Job, Wire } from "../job/job.ts";
import { isPart } from "../job/route.ts";
import type { SquareMillimetres } from "../units.ts";
import { isUndersized } from "./expected-drop.ts";
import { awgSquareMillimetres, saeSquareMillimetres } from "./wire.ts";

/** Gauges that the trade sells, thinnest first. */
export const standardGauges = [
  "18",
  "16",
  "14",
  "12",
  "10",
  "8",
  "6",
  "4",
  "2",
  "1",
  "1/0",
  "2/0",
  "3/0",
  "4/0",
] as const;
export type StandardGauge = (typeof standardGauges)[number];

/** Nominal areas of IEC 60228 (2004), thinnest first. */
export const standardSquareMillimetres = [0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120] as const;

export interface SmallestConductor {
  /** null: even the thickest listed does not keep the limit, the other parts leave too little */
  readonly awg: StandardGauge | null;
  readonly squareMillimetres: SquareMillimetres | null;
}

/**
 * Smallest copper size for every wire of the run, at their declared lengths.
 * @returns null where the load's transmit current is not declared, or the loop has no wire
 */
export function smallestConductor(job: Job): SmallestConductor | null {
  if (job.load.transmitAmps === undefined) return null;
  if (!job.loop.some((item) => isPart(item) && item.part === "wire")) return null;
  const keepsLimit = (size: Pick<Wire, "awg" | "squareMillimetres">) => !isUndersized(rewired(job, size))!.undersized;
  return {
    awg: standardGauges.find((gauge) => keepsLimit({ awg: awgField(gauge) })) ?? null,
    squareMillimetres: standardSquareMillimetres.find((squareMillimetres) => keepsLimit({ squareMillimetres })) ?? null,
  };
}

/** The job with every wire replaced by new copper of one size, of known length. */
export function rewired(job: Job, size: Pick<Wire, "awg" | "squareMillimetres">): Job {
  const loop = job.loop.map((item) =>
    isPart(item) && item.part === "wire" ? { part: item.part, id: item.id, metres: item.metres, ...size } : item,
  );
  return { ...job, loop };
}

export const awgField = (gauge: StandardGauge): Wire["awg"] =>
  gauge === "1/0" || gauge === "2/0" || gauge === "3/0" || gauge === "4/0" ? gauge : Number(gauge);

/**
 * Thinnest gauge with at least a given area of copper.
 * @returns null where none is listed
 * @example smallestGauge(3.178, "sae") // '10' (12 SAE has 2.96 mm²)
 */
export function smallestGauge(squareMillimetres: SquareMillimetres, system: "awg" | "sae"): StandardGauge | null {
  const area = system === "sae" ? saeSquareMillimetres : awgSquareMillimetres;
  return standardGauges.find((gauge) => area(awgField(gauge)!) >= squareMillimetres) ?? null;
}
