/**
 * Ampacity: the current that a wire may carry for ever, by size, insulation and where it lies.
 * What is not declared, and figures that are not published, leave a range instead of one number.
 */
import type { Wire } from "../../job/job.ts";
import { awgSquareMillimetres, gaugeNumber, metals, wireSquareMillimetres } from "../../loop/wire.ts";
import type { Amps, Celsius } from "../../units.ts";

/** Celsius that the insulation stands for ever. */
export const insulationClasses: readonly Celsius[] = [60, 75, 80, 90, 105, 125, 200];

/**
 * Amperes of single insulated stranded copper, 30 °C ambient, by gauge and insulation class.
 * Source: 33 CFR 183.425 Table 5 (the 105 °C column is also that of ABYC E-11 below 50 V).
 */
export const table5: readonly (readonly [gauge: number, amps: readonly Amps[]])[] = [
  //     60,  75,  80,  90, 105, 125, 200 °C
  [18, [10, 10, 15, 20, 20, 25, 25]],
  [16, [15, 15, 20, 25, 25, 30, 35]],
  [14, [20, 20, 25, 30, 35, 40, 45]],
  [12, [25, 25, 35, 40, 45, 50, 55]],
  [10, [40, 40, 50, 55, 60, 70, 70]],
  [8, [55, 65, 70, 70, 80, 90, 100]],
  [6, [80, 95, 100, 100, 120, 125, 135]],
  [4, [105, 125, 130, 135, 160, 170, 180]],
  [3, [120, 145, 150, 155, 180, 195, 210]],
  [2, [140, 170, 175, 180, 210, 225, 240]],
  [1, [165, 195, 210, 210, 245, 265, 280]],
  [0, [195, 230, 245, 245, 285, 305, 325]],
  [-1, [225, 265, 285, 285, 330, 355, 370]],
  [-2, [260, 310, 330, 330, 385, 410, 430]],
  [-3, [300, 360, 385, 385, 445, 475, 510]],
];

/** How the table is cited beside a figure taken from it. */
export const ampacityTable = "33 CFR 183.425 Table 5, single insulated copper at 30 °C";
const tableCelsius: Celsius = 30;
/** An engine space counts as this (33 CFR 183.425 note 1). */
const engineSpaceCelsius: Celsius = 50;
/** Engine-space factor of 105 °C insulation, published; those of the other classes follow from the heat balance below. */
const publishedEngineSpace = { insulationCelsius: 105, factor: 0.85 } as const;

/** Conductors in a bundle → factor. Source: Coast Guard guideline as reprinted in a marine catalogue, which sets no limit below 50 V. */
export const bundleFactors: readonly (readonly [atLeast: number, factor: number])[] = [
  [25, 0.4],
  [7, 0.5],
  [4, 0.6],
  [3, 0.7],
];

export interface Ampacity {
  /** surely carried, whatever is not declared and with every factor that may apply */
  readonly lowAmps: Amps;
  /** surely not to be exceeded: published figures alone, and the best that the declaration allows */
  readonly highAmps: Amps;
  /** how the figures come about, in words */
  readonly basis: string;
}

/**
 * @param ambientCelsius where the wire lies; below 30 °C nothing is gained
 * @example wireAmpacity({ part: "wire", id: "feed", awg: 10, metres: 4, insulationCelsius: 105 }, 25) // 60 A, low and high
 */
export function wireAmpacity(wire: Wire, ambientCelsius: Celsius): Ampacity {
  if (wire.insulationCelsius !== undefined && ambientCelsius >= wire.insulationCelsius)
    return { lowAmps: 0, highAmps: 0, basis: tooHotWords(wire.insulationCelsius, ambientCelsius) };
  const { worst, best } = supposedClasses(wire.insulationCelsius);
  const { below, above } = neighbouringRows(wire);
  const placeCelsius = wire.engineSpace ? Math.max(engineSpaceCelsius, ambientCelsius) : ambientCelsius;
  const heat = worst === null ? 1 : heatFactor(worst, placeCelsius);
  const bundle = bundleFactor(wire);
  const metal = metalFactor(wire);
  return {
    lowAmps: below === null || worst === null ? 0 : tabledAmps(below, worst) * heat * bundle * metal,
    highAmps:
      above === null
        ? Number.POSITIVE_INFINITY
        : tabledAmps(above, best) * (isPublished(wire, best) ? publishedEngineSpace.factor : 1),
    basis: [
      below === null && above !== null
        ? thinWords(wire, worst === null ? null : heat * bundle * metal * densityAmps(wire, worst))
        : sizeWords(below, above),
      insulationWords(wire.insulationCelsius, worst),
      heat < 1
        ? `${Math.round(placeCelsius)} °C around it (factor ${heat.toFixed(2)}${isPublished(wire, best) ? "" : ", computed"})`
        : "",
      bundle < 1 ? `bundled (factor ${bundle.toFixed(1)}, not binding below 50 V)` : "",
      metal < 1 ? `${wire.material} (factor ${metal.toFixed(2)}, computed)` : "",
    ]
      .filter((words) => words !== "")
      .join(", "),
  };
}

const tooHotWords = (insulationCelsius: Celsius, ambientCelsius: Celsius): string =>
  `${Math.round(ambientCelsius)} °C around it is no less than its ${insulationCelsius} °C insulation stands`;

function insulationWords(insulationCelsius: Celsius | undefined, worst: number | null): string {
  if (insulationCelsius === undefined) return "insulation not declared";
  return `${insulationCelsius} °C insulation${worst === null ? `, poorer than the ${insulationClasses[0]} °C that is listed` : ""}`;
}

/** Column to trust (null: poorer than any listed) and column not to exceed; between two columns the lower counts. */
function supposedClasses(insulationCelsius: Celsius | undefined): { worst: number | null; best: number } {
  if (insulationCelsius === undefined) return { worst: insulationClasses[0]!, best: insulationClasses.at(-1)! };
  const column = insulationClasses.findLast((listed) => listed <= insulationCelsius);
  return { worst: column ?? null, best: column ?? insulationClasses[0]! };
}

type Row = (typeof table5)[number];

/** Rows next to the wire's size, the same row twice where it is listed; null where none is thinner, or none thicker. */
function neighbouringRows(wire: Wire): { below: Row | null; above: Row | null } {
  if (wire.unknown?.includes("size")) return { below: null, above: null };
  // a gauge counts by its number: the marine lists give SAE sizes the same amperes
  const byNumber = wire.awg !== undefined && wire.squareMillimetres === undefined;
  const size = byNumber ? -gaugeNumber(wire.awg!) : wireSquareMillimetres(wire);
  const sizeOf = ([gauge]: Row) => (byNumber ? -gauge : awgSquareMillimetres(gauge));
  return {
    below: table5.findLast((row) => sizeOf(row) <= size) ?? null,
    above: table5.find((row) => sizeOf(row) >= size) ?? null,
  };
}

/** What stands in no table can be computed, which tells the reader more and passes no wire. */
function thinWords(wire: Wire, computedAmps: Amps | null): string {
  const thinnest = `thinner than ${gaugeName(table5[0]!)}, the thinnest listed`;
  if (computedAmps === null || computedAmps === 0 || wire.unknown?.includes("size")) return thinnest;
  return `${thinnest}: ${computedAmps.toPrecision(2)} A by current density, computed`;
}

/**
 * Amperes at the current density of the second thinnest wire listed (the thinnest's figures are rounded by up to a
 * quarter): the same heat in each mm³, and more surface for it to leave by.
 */
function densityAmps(wire: Wire, insulationClass: number): Amps {
  const row = table5[1]!;
  return (tabledAmps(row, insulationClass) * wireSquareMillimetres(wire)) / awgSquareMillimetres(row[0]);
}

function sizeWords(below: Row | null, above: Row | null): string {
  if (below === null) return "its size is a guess: read the print on it or measure its copper";
  if (above === null) return `thicker than ${gaugeName(below)}, the thickest listed`;
  return below === above ? gaugeName(below) : `between ${gaugeName(below)} and ${gaugeName(above)}`;
}

const gaugeName = ([gauge]: Row): string => (gauge > 0 ? `${gauge} AWG` : `${1 - gauge}/0 AWG`);

const tabledAmps = (row: Row, insulationClass: number): Amps => row[1][insulationClasses.indexOf(insulationClass)]!;

/**
 * What hotter surroundings leave: heat leaves in proportion to the difference in temperature, and is made with the
 * square of the current. Agrees with the factors listed for engine spaces (0.58, 0.75, 0.78, 0.82, 0.85, 0.89) to 0.01.
 * @example heatFactor(105, 50) // 0.856
 */
export function heatFactor(insulationClass: number, placeCelsius: Celsius): number {
  if (placeCelsius <= tableCelsius) return 1;
  if (insulationClass === publishedEngineSpace.insulationCelsius && placeCelsius === engineSpaceCelsius) {
    return publishedEngineSpace.factor;
  }
  return Math.sqrt(Math.max(0, insulationClass - placeCelsius) / (insulationClass - tableCelsius));
}

const isPublished = (wire: Wire, insulationClass: number): boolean =>
  wire.engineSpace === true && insulationClass === publishedEngineSpace.insulationCelsius;

function bundleFactor(wire: Wire): number {
  const together = (wire.bundledWith ?? 0) + 1;
  return bundleFactors.find(([atLeast]) => together >= atLeast)?.[1] ?? 1;
}

/** Equal heat: the current falls with the root of the resistivity (computed). */
function metalFactor(wire: Wire): number {
  return Math.sqrt(metals.copper.resistivity / metals[wire.material ?? "copper"].resistivity);
}
