/**
 * Units spelled out or abbreviated in the languages that meters are sold in: `Millivolt`, `мВ`, `毫伏`, `Sek.`.
 * Goes in: one word in lower case. Comes out: what it measures and the step to volts, amps or seconds.
 */
export type UnitQuantity = "volts" | "amps" | "seconds" | "other";

/** Quantity; SI = number · multiply / divide */
export type Scale = readonly [UnitQuantity, number, number];

const volt = /^(?:v|volt[sy]?|volt(?:io|aj)s?|voltti?a?|wolt(?:y|[oó]w)?|вольт(?:а|ы|ов)?|в|伏特?|ボルト|볼트)$/;
const ampere =
  /^(?:a|amps?|amper(?:e|es|y|[oó]w|eja)?|amp[èe]res?|amper[ei]o?s?|ampeeri(?:a)?|ампер(?:а|ы|ов)?|а|安培?|アンペア|암페어)$/;
const second =
  /^(?:s|secs?|seconds?|sek(?:unde[nr]?|und(?:y|er|a)?|unti[ae]?)?|seg(?:undos?)?|secondes?|second[oi]|с|сек(?:унд[аы]?)?|秒|초)$/;
const minute = /^(?:min(?:s|ute[sn]?|ut[ois]s?|ut[iy]|uter|uuttia?)?|мин(?:ут[аы]?)?|分钟?|분)$/;
// `Heure`, `Hora`, `Ora`, `時間` head a clock, and `Std` a deviation.
const hour = /^(?:h|hrs?|hours?|stunden?|timmar|godz|ч|小时)$/;
const day = /^(?:d|days?|tage|jours|giorni|dagen|dni|сут(?:ки|ок)?)$/;

const thousandth = /^(?:milli|mili|милли|毫|ミリ|밀리|m|м)/;
const millionth = /^(?:micro|mikro|микро|微|マイクロ|마이크로|u|мк)/;
const thousandfold = /^(?:kilo|кило|千|キロ|k|к)/;

/** @returns null where the word is no unit of volts, amps or time */
export function scaleOfWord(word: string): Scale | null {
  const whole = plainScale(word);
  if (whole !== null) return whole;
  for (const [prefix, multiply, divide] of [
    [millionth, 1, 1e6],
    [thousandth, 1, 1000],
    [thousandfold, 1000, 1],
  ] as const) {
    const rest = word.replace(prefix, "");
    const scale = rest === word ? null : plainScale(rest);
    if (scale === null || (scale[0] === "seconds" && (scale[1] !== 1 || multiply !== 1))) continue;
    return [scale[0], multiply, divide];
  }
  if (/^(?:nanoseconds?|ns)$/.test(word)) return ["seconds", 1, 1e9];
  return word === "milli" ? ["seconds", 1, 1000] : null;
}

function plainScale(word: string): Scale | null {
  if (volt.test(word)) return ["volts", 1, 1];
  if (ampere.test(word)) return ["amps", 1, 1];
  if (second.test(word)) return ["seconds", 1, 1];
  if (minute.test(word)) return ["seconds", 60, 1];
  if (hour.test(word)) return ["seconds", 3600, 1];
  return day.test(word) ? ["seconds", 86_400, 1] : null;
}
