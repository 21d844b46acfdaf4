/**
 * Recipes that nobody needs to teach: open standards for readings, as far as they are published. Rows, scales and codes
 * for "not known" are those of the documents named at each; no maker's protocol is among them.
 */
import type { Framing } from "./framing.ts";
import type { MeterUnit, Recipe } from "./recipe.ts";

export interface BuiltInRecipe {
  readonly id: string;
  /** what the technician picks from */
  readonly words: string;
  /** where it comes over Bluetooth: the characteristic's assigned number */
  readonly characteristic?: number;
  readonly recipe: Recipe;
}

const lines: Extract<Framing, { kind: "delimited" }> = { kind: "delimited", ends: [0x0a, 0x0d], aligned: true };
const noOver = { flags: [], codes: [] };
/** `READ?` and a newline, in base 64 */
const readQuery = "UkVBRD8K";

/**
 * Number responses of IEEE 488.2 (NR1, NR2, NR3), asked for by `READ?`; from 9.9E37 up they stand for no reading
 * (SCPI-1999). The unit is not sent: it is what the instrument is set to.
 */
const scpi = (unit: MeterUnit, words: string): BuiltInRecipe => ({
  id: `scpi-${unit}`,
  words,
  recipe: {
    format: "recipe/1",
    label: words,
    ask: { base64: readQuery, everySeconds: 0.5 },
    framing: lines,
    frame: { fixed: [], checks: [] },
    others: [],
    number: { coding: "text", ordinal: 0 },
    scale: { factor: 1 },
    unit: "written",
    unitOtherwise: unit,
    overRange: noOver,
  },
});

const plainLines: BuiltInRecipe = {
  id: "text-lines",
  words: "Lines of text with number and unit",
  recipe: {
    format: "recipe/1",
    label: "Lines of text with number and unit",
    framing: lines,
    frame: { fixed: [], checks: [] },
    others: [],
    number: { coding: "text", ordinal: 0 },
    scale: { factor: 1 },
    unit: "written",
    overRange: noOver,
  },
};

/**
 * NMEA 0183 XDR: type, value, unit and name in cells; the check is the exclusive-or of all characters between `$` and `*`.
 * Sentences of other kinds that come whole are passed over.
 */
const xdr = (type: "U" | "I", unit: MeterUnit, words: string): BuiltInRecipe => {
  const check = { kind: "xor", bits: 8, from: 1, uncovered: 3, back: 2, order: "big", constant: 0 } as const;
  const sentence = { fixed: [], checks: [{ ...check, written: "hexadecimal" as const }] };
  return {
    id: `nmea-xdr-${unit}`,
    words,
    recipe: {
      format: "recipe/1",
      label: words,
      framing: { ...lines, start: 0x24 },
      frame: sentence,
      others: [],
      number: { coding: "text", after: `,${type},` },
      scale: { factor: 1 },
      unit,
      overRange: noOver,
    },
  };
};

/**
 * Electrical characteristics of the Bluetooth SIG (GATT Specification Supplement): little-endian, the highest code means
 * that the value is not known.
 */
const characteristic = (
  number: number,
  words: string,
  unit: MeterUnit,
  layout: { bytes: number; valueBytes: 2 | 3; factor: number },
): BuiltInRecipe => {
  const pieces = Array.from({ length: layout.valueBytes }, (_, i) => [layout.valueBytes - 1 - i, 0, 8] as const);
  return {
    id: `gatt-${number.toString(16)}`,
    words,
    characteristic: number,
    recipe: {
      format: "recipe/1",
      label: words,
      framing: { kind: "packet" },
      frame: { length: layout.bytes, fixed: [], checks: [] },
      others: [],
      number: { coding: "integer", pieces: pieces.map(([...piece]) => piece), form: "unsigned" },
      scale: { factor: layout.factor },
      unit,
      overRange: noOver,
      absent: [256 ** layout.valueBytes - 1],
    },
  };
};

const voltsPerStep = 1 / 64;
const ampsPerStep = 0.01;

/** Source of all: reference/open-formats.md, sections 1 to 3, with the documents named there. */
export const builtInRecipes: readonly BuiltInRecipe[] = [
  plainLines,
  scpi("V", "SCPI instrument set to DC volts"),
  scpi("A", "SCPI instrument set to DC amps"),
  xdr("U", "V", "NMEA 0183 XDR, volts"),
  xdr("I", "A", "NMEA 0183 XDR, amps"),
  characteristic(0x2b18, "Bluetooth Voltage", "V", { bytes: 2, valueBytes: 2, factor: voltsPerStep }),
  characteristic(0x2b1a, "Bluetooth Voltage Statistics", "V", { bytes: 9, valueBytes: 2, factor: voltsPerStep }),
  characteristic(0x2ae1, "Bluetooth Average Voltage", "V", { bytes: 3, valueBytes: 2, factor: voltsPerStep }),
  characteristic(0x2be0, "Bluetooth High Voltage", "V", { bytes: 3, valueBytes: 3, factor: voltsPerStep }),
  characteristic(0x2aee, "Bluetooth Electric Current", "A", { bytes: 2, valueBytes: 2, factor: ampsPerStep }),
  characteristic(0x2af1, "Bluetooth Electric Current Statistics", "A", {
    bytes: 9,
    valueBytes: 2,
    factor: ampsPerStep,
  }),
  characteristic(0x2ae0, "Bluetooth Average Current", "A", { bytes: 3, valueBytes: 2, factor: ampsPerStep }),
];
