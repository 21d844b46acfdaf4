/**
 * The unit of a number in a log: from a header cell, a unit row, a unit column or the text beside the number.
 * Goes in: text as a meter wrote it. Comes out: what it measures and the step to volts, amps or seconds.
 */
import { scaleOfWord, type UnitQuantity } from "./unit-words.ts";

export interface Unit {
  /** as it stood in the file, trimmed */
  readonly text: string;
  readonly quantity: UnitQuantity;
  /** SI = number · multiply / divide: a division by 1000 keeps 612 mV exactly 0.612 V, a product with 0.001 would not */
  readonly multiply: number;
  readonly divide: number;
  /** an alternating quantity, which says nothing of a 12 V supply's level */
  readonly alternating: boolean;
}

const others =
  /^([kmgu]?(ohm|ω|hz|w|ah|wh|va|watt|farad|henry)|[munp]?f|[mu]?h|°c|°f|degc|degf|deg|°|c|k|celsius|fahrenheit|kelvin|%|%rh|rh|db|db[mu]?v|dbm|dbw|rpm|pa|hpa|kpa|m?bar|psi|ppm|km\/h|m\/s|mph|kg|mm|cm|km|lx|lux|count|pct|percent|siemens|coulomb|j|kj)$/;

const alternatingWord = /^(ac|ac\+dc|acdc|rms|trms|~)$/;
const alternatingMark = /^(ac|~)|(ac|ac\+dc|acdc|dc\+ac|rms|~)$/;

/** `V/m`, `km/h`, `V/cell`: so much a metre, an hour, a cell. */
const ratio = /^([^/\s]{1,6})\/(?:s|sec|min|h|hr|m|km|cm|mm|hz|a|v|ohm|k|°c|cell|div|g|kg|l)$/;
const isRatio = (word: string): boolean => {
  const above = ratio.exec(word)?.[1];
  return above !== undefined && (scaleOfWord(above) !== null || others.test(above) || /^(l|g|gal)$/.test(above));
};

/**
 * @param text as `mV`, `V DC`, `DCV`, `[A]`, `µA`, `kΩ`, `VAC`
 * @returns null where the text is no unit. Letter case is not trusted: some meters write `MV` for millivolts, and a megavolt is no supply's.
 * @example parseUnit("mV DC") // { quantity: "volts", multiply: 1, divide: 1000, alternating: false }
 */
export function parseUnit(text: string): Unit | null {
  const shown = text.trim();
  // No unit has a digit: most cells that are asked for one are numbers.
  if (shown === "" || shown.length > 24 || /\d/.test(shown)) return null;
  const words = shown
    .toLowerCase()
    .replace(/^[([{<]\s*(.*?)\s*[)\]}>]$/, "$1")
    .replace(/[µμ]/g, "u")
    .replace(/[⎓=]/g, "")
    .replace(/ω/g, "ohm")
    .replace(/℃/g, "°c")
    .replace(/^(sec?|sek|seg|min|msec|сек|мин|с|мс|godz)\.$/, "$1")
    .replace(/\b([ad])\.c\.?/g, "$1c")
    .split(/\s+/)
    .filter((word) => word !== "" && word !== "dc");
  const alternating = words.some((word) => alternatingMark.test(word));
  const plain = words.filter((word) => !alternatingWord.test(word)).join(" ");
  const core = plain.replace(/^(ac\+dc|acdc|ac|dc|~)(?=.)/, "").replace(/(.)(ac\+dc|acdc|ac|dc|rms|~)$/, "$1");
  const scale = scaleOfWord(core) ?? scaleOfWord(singular(core));
  if (scale !== null) {
    const [quantity, multiply, divide] = scale;
    return { text: shown, quantity, multiply, divide, alternating: alternating && quantity !== "seconds" };
  }
  if (others.test(core) || others.test(singular(core)) || isRatio(core)) {
    return { text: shown, quantity: "other", multiply: 1, divide: 1, alternating };
  }
  return null;
}

const singular = (word: string): string => (word.length > 3 ? word.replace(/s$/, "") : word);

/** A unit spelled by its SI name, for where the file names none. */
export const plainUnit = (quantity: "volts" | "amps"): Unit => ({
  text: quantity === "volts" ? "V" : "A",
  quantity,
  multiply: 1,
  divide: 1,
  alternating: false,
});

/** Number as written → SI. */
export const toSi = (value: number, unit: Unit): number => (value * unit.multiply) / unit.divide;
