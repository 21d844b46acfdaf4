/**
 * The unit of a number in a log: from a header cell, a unit row, a unit column or the text beside the number.
 * Goes in: text as a meter wrote it. Comes out: what it measures and the step to volts, amps or seconds.
 */
export type UnitQuantity = "volts" | "amps" | "seconds" | "other";

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

type Scale = readonly [UnitQuantity, number, number];

const volts: Record<string, Scale> = {
  v: ["volts", 1, 1],
  volt: ["volts", 1, 1],
  mv: ["volts", 1, 1000],
  mvolt: ["volts", 1, 1000],
  millivolt: ["volts", 1, 1000],
  uv: ["volts", 1, 1e6],
  microvolt: ["volts", 1, 1e6],
  kv: ["volts", 1000, 1],
};
const amps: Record<string, Scale> = {
  a: ["amps", 1, 1],
  amp: ["amps", 1, 1],
  ampere: ["amps", 1, 1],
  ma: ["amps", 1, 1000],
  mamp: ["amps", 1, 1000],
  milliamp: ["amps", 1, 1000],
  milliampere: ["amps", 1, 1000],
  ua: ["amps", 1, 1e6],
  microamp: ["amps", 1, 1e6],
  ka: ["amps", 1000, 1],
};
const times: Record<string, Scale> = {
  s: ["seconds", 1, 1],
  sec: ["seconds", 1, 1],
  second: ["seconds", 1, 1],
  sekunde: ["seconds", 1, 1],
  sekunden: ["seconds", 1, 1],
  ms: ["seconds", 1, 1000],
  msec: ["seconds", 1, 1000],
  milli: ["seconds", 1, 1000],
  millisecond: ["seconds", 1, 1000],
  us: ["seconds", 1, 1e6],
  usec: ["seconds", 1, 1e6],
  microsecond: ["seconds", 1, 1e6],
  ns: ["seconds", 1, 1e9],
  nanosecond: ["seconds", 1, 1e9],
  min: ["seconds", 60, 1],
  minute: ["seconds", 60, 1],
  h: ["seconds", 3600, 1],
  hr: ["seconds", 3600, 1],
  hour: ["seconds", 3600, 1],
  d: ["seconds", 86_400, 1],
  day: ["seconds", 86_400, 1],
};
const others =
  /^([kmgu]?(ohm|ω|hz|w|ah|wh|va|watt|farad|henry)|[munp]?f|[mu]?h|°c|°f|degc|degf|deg|°|c|k|celsius|fahrenheit|kelvin|%|%rh|rh|db|db[mu]?v|dbm|dbw|rpm|pa|hpa|kpa|m?bar|psi|ppm|km\/h|m\/s|mph|kg|mm|cm|km|lx|lux|count|pct|percent|siemens|coulomb|j|kj)$/;

const alternatingWord = /^(ac|ac\+dc|acdc|rms|trms|~)$/;
const alternatingMark = /^(ac|~)|(ac|ac\+dc|acdc|dc\+ac|rms|~)$/;

const scales: Record<string, Scale> = { ...volts, ...amps, ...times };

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
    .replace(/\b([ad])\.c\.?/g, "$1c")
    .split(/\s+/)
    .filter((word) => word !== "" && word !== "dc");
  const alternating = words.some((word) => alternatingMark.test(word));
  const plain = words.filter((word) => !alternatingWord.test(word)).join(" ");
  const core = plain.replace(/^(ac\+dc|acdc|ac|dc|~)(?=.)/, "").replace(/(.)(ac\+dc|acdc|ac|dc|rms|~)$/, "$1");
  const scale = Object.hasOwn(scales, core) ? scales[core] : scales[singular(core)];
  if (scale !== undefined) {
    const [quantity, multiply, divide] = scale;
    return { text: shown, quantity, multiply, divide, alternating: alternating && quantity !== "seconds" };
  }
  if (others.test(core) || others.test(singular(core))) {
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
