/**
 * Number → text with its unit and no more digits than its uncertainty allows. The one place that rounds for print.
 * Rule: an uncertainty is quoted to at most two significant digits, and the value to the same decimal place
 * (JCGM 100:2008, 7.2.6; clause number from memory). Two digits where the first is 1 or 2, one otherwise, so that
 * rounding never changes the uncertainty by more than a sixth (common practice).
 */
import type { UncertainQuantity } from "./uncertain.ts";

export type PrintUnit = "V" | "A" | "Ω" | "s";

/** What stands where a quantity cannot be had from the data. */
export const notKnown = "–";

/** No display and no method here resolves more than this. */
const mostDecimals = 6;

/**
 * Decimal places that an uncertainty allows.
 * @param uncertainty in the unit that is printed; 0 or not finite: nothing is known of it, and two places are given
 * @example decimalPlaces(0.027) // 3: 0.027 has two digits
 * @example decimalPlaces(0.34) // 1
 */
export function decimalPlaces(uncertainty: number): number {
  const size = Math.abs(uncertainty);
  if (!(size > 0) || !Number.isFinite(size)) return 2;
  const [digits, power] = size.toExponential(1).split("e") as [string, string];
  const significant = Number(digits) < 3 ? 2 : 1;
  return Math.min(mostDecimals, Math.max(0, significant - 1 - Number(power)));
}

/** With the typographic minus, and without the sign of a rounded zero. */
export function fixed(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return /^-0(\.0*)?$/.test(text) ? text.slice(1) : text.replace("-", "−");
}

/**
 * Value alone, its digits as its standard uncertainty allows: for tables.
 * @example valueForPrint({ value: 0.5513, low: 0.51, high: 0.59, uncertainty: 0.02 }, "V") // "0.551 V"
 */
export function valueForPrint(quantity: UncertainQuantity | null, unit: PrintUnit): string {
  if (quantity === null || !Number.isFinite(quantity.value)) return notKnown;
  const { prefix, factor } = prefixFor(quantity, unit);
  return `${fixed(quantity.value * factor, decimalPlaces(quantity.uncertainty * factor))} ${prefix}${unit}`;
}

/**
 * Value and half of its 95 % interval; the two ends instead where they do not lie evenly about the value.
 * @example withInterval({ value: 10.05762, low: 10.0047, high: 10.1105, uncertainty: 0.027 }, "Ω") // "10.06 Ω ± 0.05 Ω"
 */
export function withInterval(quantity: UncertainQuantity | null, unit: PrintUnit): string {
  if (quantity === null || !Number.isFinite(quantity.value)) return notKnown;
  const { prefix, factor } = prefixFor(quantity, unit);
  const [value, low, high] = [quantity.value, quantity.low, quantity.high].map((one) => one * factor) as [
    number,
    number,
    number,
  ];
  const half = (high - low) / 2;
  const decimals = decimalPlaces(half);
  const shown = `${fixed(value, decimals)} ${prefix}${unit}`;
  if (!(half > 0)) return shown;
  const uneven = Math.abs(high - value - (value - low)) > 0.5 * half;
  if (uneven) return `${shown} (${fixed(low, decimals)} to ${fixed(high, decimals)})`;
  return `${shown} ± ${fixed(half, decimals)} ${prefix}${unit}`;
}

/** Ohms of a part are thousandths: milliohms below a tenth. Volts and amps stay as meters show them. */
function prefixFor({ value, low, high }: UncertainQuantity, unit: PrintUnit): { prefix: string; factor: number } {
  const largest = Math.max(Math.abs(value), Math.min(Math.abs(low), Math.abs(high)));
  return unit === "Ω" && largest < 0.1 ? { prefix: "m", factor: 1000 } : { prefix: "", factor: 1 };
}

/**
 * Volts that came without an uncertainty: hundredths, and thousandths where there is little.
 * @example plainVolts(0.5513) // "0.55 V"
 */
export function plainVolts(volts: number): string {
  return `${fixed(volts, Math.abs(volts) < 0.02 ? 3 : 2)} V`;
}

/**
 * Amps that came without an uncertainty: tenths, and hundredths where there is little.
 * @example plainAmps(11.48) // "11.5 A"
 */
export function plainAmps(amps: number): string {
  return `${fixed(amps, Math.abs(amps) < 2 ? 2 : 1)} A`;
}

/**
 * A probability in whole per cent; never 0 or 100, which no measurement earns.
 * @example percent(0.934) // "93 %"
 */
export function percent(probability: number): string {
  if (probability > 0.99) return "over 99 %";
  if (probability < 0.01) return "under 1 %";
  return `${Math.round(probability * 100)} %`;
}
