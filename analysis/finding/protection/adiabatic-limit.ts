/**
 * How long a wire stands a short circuit before its insulation is hurt, when no heat has time to leave it.
 */
import type { Metal } from "../../loop/wire.ts";
import type { Amps, Celsius, Seconds, SquareMillimetres } from "../../units.ts";

interface Heating {
  /** A·√s/mm², before the temperatures are put in */
  readonly factor: number;
  /** inferred temperature of zero resistance, below 0 °C */
  readonly zeroResistanceCelsius: number;
}

/** Source: IEC 60949, from memory: 226 and 234.5 for copper, 148 and 228 for aluminium. Copper-clad counts as aluminium. */
const heating: Readonly<Record<Metal, Heating>> = {
  copper: { factor: 226, zeroResistanceCelsius: 234.5 },
  "copper-clad-aluminium": { factor: 148, zeroResistanceCelsius: 228 },
  aluminium: { factor: 148, zeroResistanceCelsius: 228 },
};

/** What the insulation stands for some seconds: cross-linked 250 °C, else 160 °C; IEC 60364-4-43, from memory. */
const crossLinkedFromCelsius: Celsius = 125;
export const shortCircuitCelsius = (insulationCelsius: Celsius): Celsius =>
  insulationCelsius >= crossLinkedFromCelsius ? 250 : 160;

/**
 * Current density that heats a conductor from one temperature to another in one second.
 * @returns A·√s/mm²
 * Source: IEC 60949 adiabatic formula, from memory; gives the familiar 115 (70 to 160 °C) and 143 (90 to 250 °C).
 * @example adiabaticFactor("copper", 70, 160) // 115
 */
export function adiabaticFactor(metal: Metal, startCelsius: Celsius, endCelsius: Celsius): number {
  const { factor, zeroResistanceCelsius } = heating[metal];
  if (endCelsius <= startCelsius) return 0;
  return factor * Math.sqrt(Math.log((endCelsius + zeroResistanceCelsius) / (startCelsius + zeroResistanceCelsius)));
}

/**
 * Time until a wire at its rated temperature reaches what its insulation stands.
 * Errs on the safe side past some seconds, when heat begins to leave.
 * @param insulationCelsius its class; the wire starts there, as after long full load
 * @example adiabaticSeconds("copper", 5.26, 105, 500) // 0.85
 */
export function adiabaticSeconds(
  metal: Metal,
  squareMillimetres: SquareMillimetres,
  insulationCelsius: Celsius,
  amps: Amps,
): Seconds {
  const k = adiabaticFactor(metal, insulationCelsius, shortCircuitCelsius(insulationCelsius));
  return ((k * squareMillimetres) / amps) ** 2;
}
