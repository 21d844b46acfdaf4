/**
 * A wire: its copper area from the size it is sold by, and its ohms from metal, length and temperature.
 */
import type { Wire } from "../job/job.ts";
import { Problem } from "../problem.ts";
import type { Celsius, Ohms, SquareMillimetres } from "../units.ts";

export type Metal = "copper" | "copper-clad-aluminium" | "aluminium";

interface MetalFigures {
  /** Ω·mm²/m at 20 °C */
  readonly resistivity: number;
  /** per kelvin, relative to 20 °C */
  readonly temperatureCoefficient: number;
}

/** Resistivity of annealed copper, 100 % IACS, at 20 °C in Ω·mm²/m. Source: NBS Handbook 100 (1966), seen second-hand. */
export const copperResistivity = 0.017241;

export const metals: Readonly<Record<Metal, MetalFigures>> = {
  // 0.00393 /K: NBS Handbook 100 (1966), seen second-hand
  copper: { resistivity: copperResistivity, temperatureCoefficient: 0.00393 },
  // middle of 1.50 to 1.60 times copper (ASTM B566 classes 10A and 15A); coefficient near aluminium's: no published figure
  "copper-clad-aluminium": { resistivity: 1.55 * copperResistivity, temperatureCoefficient: 0.004 },
  // 61 % IACS, 0.00403 /K: NBS Handbook 109, from memory
  aluminium: { resistivity: copperResistivity / 0.61, temperatureCoefficient: 0.00403 },
};

/** Strands lie in a helix and are longer than the wire. Source: NEC Chapter 9 Table 8, stranded over solid: 1.018 to 1.025. */
export const strandingLay = 1.02;

/** Square millimetres in one circular mil (a circle 0.001 in across). */
export const squareMillimetresPerCircularMil = (Math.PI / 4) * 0.0254 ** 2;

/** Number of a gauge as counted in the formula: '2/0' is −1. */
export function gaugeNumber(awg: number | string): number {
  if (typeof awg === "number") return awg;
  const noughts = /^([1-4])\/0$/.exec(awg);
  if (!noughts) throw new RangeError(`gaugeNumber: a gauge should be a number or '1/0' to '4/0'; got '${awg}'`);
  return 1 - Number(noughts[1]);
}

/**
 * Area of a solid wire of an American gauge; the stranded wire of that gauge has the same copper.
 * @param awg a number (0, −1, −2, −3 for 1/0 to 4/0; between sizes allowed) or '1/0' to '4/0'
 * Source: ASTM B258-02: No. 36 is 0.127 mm, No. 4/0 is 92 times as thick, 39 equal ratios between. Seen second-hand.
 * @example awgSquareMillimetres(10) // 5.261
 */
export function awgSquareMillimetres(awg: number | string): SquareMillimetres {
  const diameterMillimetres = 0.127 * 92 ** ((36 - gaugeNumber(awg)) / 39);
  return (Math.PI / 4) * diameterMillimetres ** 2;
}

/**
 * SAE minimum areas in circular mils by gauge number.
 * Source: two marine-cable suppliers' ampacity pages; SAE J1128 itself was not read.
 */
export const saeCircularMils: readonly (readonly [gauge: number, circularMils: number])[] = [
  [18, 1537],
  [16, 2336],
  [14, 3702],
  [12, 5833],
  [10, 9343],
  [8, 14810],
  [6, 24538],
  [4, 37360],
  [2, 62450],
  [1, 77790],
  [0, 98980],
  [-1, 125100],
  [-2, 158600],
  [-3, 205500],
];

/**
 * Area of an SAE gauge: about a tenth less copper than the American gauge of that number.
 * Sizes outside the table take its nearest ratio to the American gauge; odd sizes the mean of their neighbours' ratios.
 * @example saeSquareMillimetres(10) // 4.734
 */
export function saeSquareMillimetres(gauge: number | string): SquareMillimetres {
  const number = gaugeNumber(gauge);
  const ratio = (entry: readonly [number, number]) =>
    (entry[1] * squareMillimetresPerCircularMil) / awgSquareMillimetres(entry[0]);
  const thinner = saeCircularMils.findLast(([listed]) => listed >= number) ?? saeCircularMils[0]!;
  const thicker = saeCircularMils.find(([listed]) => listed <= number) ?? saeCircularMils.at(-1)!;
  return awgSquareMillimetres(number) * ((ratio(thinner) + ratio(thicker)) / 2);
}

/**
 * Copper (or other metal) area of a declared wire.
 * @throws {Problem} when the wire says neither `awg` nor `squareMillimetres`
 */
export function wireSquareMillimetres(wire: Wire): SquareMillimetres {
  if (wire.squareMillimetres !== undefined) return wire.squareMillimetres;
  if (wire.awg !== undefined) {
    return wire.gaugeSystem === "sae" ? saeSquareMillimetres(wire.awg) : awgSquareMillimetres(wire.awg);
  }
  throw new Problem(`wire '${wire.id}' should say its size as 'awg' or 'squareMillimetres'`, { field: "loop" });
}

/**
 * Resistivity at a temperature, in Ω·mm²/m, of the metal alone (no stranding).
 * Straight-line rule R(T) = R20·(1 + α·(T − 20)); holds within 1 % from −50 to 200 °C.
 * @example resistivityAt("copper", 75) // 0.02097
 */
export function resistivityAt(metal: Metal, conductorCelsius: Celsius): number {
  const { resistivity, temperatureCoefficient } = metals[metal];
  return resistivity * (1 + temperatureCoefficient * (conductorCelsius - 20));
}

/**
 * Ohms of a sound wire with its conductor at a temperature, from size, length and metal alone (`ohms` of the part is
 * not looked at). Stranded unless `strands` is 1.
 * @example wireOhms({ part: "wire", id: "feed", awg: 10, metres: 4.5 }, 20) // 0.01504
 */
export function wireOhms(wire: Wire, conductorCelsius: Celsius): Ohms {
  const lay = wire.strands === 1 ? 1 : strandingLay;
  const resistivity = resistivityAt(wire.material ?? "copper", conductorCelsius);
  return (lay * resistivity * wire.metres) / wireSquareMillimetres(wire);
}
