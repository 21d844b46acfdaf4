/** Wire sizes as the trade writes them: '10 AWG', '1/0 AWG', '6 mm²'; lengths in metres or feet. */
import type { Wire } from "../../analysis/index.ts";
import { feetPerMetre, type Settings } from "../settings.ts";

const largeSizes: Record<number, string> = { 0: "1/0", [-1]: "2/0", [-2]: "3/0", [-3]: "4/0" };

export function gaugeText(wire: Pick<Wire, "awg" | "squareMillimetres" | "gaugeSystem">): string {
  if (wire.awg !== undefined) {
    const size = typeof wire.awg === "number" ? (largeSizes[wire.awg] ?? `${wire.awg}`) : wire.awg;
    return `${size} ${wire.gaugeSystem === "sae" ? "SAE" : "AWG"}`;
  }
  return wire.squareMillimetres === undefined ? "size not known" : `${rounded(wire.squareMillimetres)} mm²`;
}

export function lengthText(metres: number, unit: Settings["length"]): string {
  return unit === "ft" ? `${rounded(metres * feetPerMetre)} ft` : `${rounded(metres)} m`;
}

/** Four significant digits at most, no trailing zeros. */
export const rounded = (value: number): string => `${Number(value.toPrecision(4))}`;

export function wireText(wire: Wire, length: Settings["length"]): string {
  const guess = (what: "size" | "length") => (wire.unknown?.includes(what) ? "?" : "");
  return `${gaugeText(wire)}${guess("size")}, ${lengthText(wire.metres, length)}${guess("length")}`;
}

/** '10', '4/0' as AWG fields take them; null where the text is no gauge. */
export function parseGauge(text: string): Wire["awg"] | null {
  const trimmed = text.trim();
  if (["1/0", "2/0", "3/0", "4/0"].includes(trimmed)) return trimmed as Wire["awg"];
  if (/^0{1,4}$/.test(trimmed)) return 1 - trimmed.length;
  const value = Number(trimmed.replace(",", "."));
  return trimmed !== "" && Number.isFinite(value) && value >= -3 && value <= 40 ? value : null;
}
