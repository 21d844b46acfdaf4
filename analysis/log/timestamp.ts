/**
 * A time stamp as a meter writes it, taken apart: date in whatever order, time of day, zone.
 * Which of two numbers is the day is not decided here: one stamp cannot tell, the whole log often can.
 */
import { isPlainlyDuration, parseDuration } from "./duration.ts";
import { withPlainWords } from "./stamp-words.ts";

/** How the three numbers of a date stand. `ambiguous`: day-month or month-day, the file must tell. */
export type DateForm = "year-first" | "ambiguous" | "day-month-year";

export interface StampDate {
  readonly form: DateForm;
  /** as written: year, month, day where `year-first`; else the first number, the second, the year */
  readonly numbers: readonly [number, number, number];
  /** what stands between the numbers where the year has two digits, and may be the first of them; else null */
  readonly shortYearMark: string | null;
}

export interface Stamp {
  readonly date: StampDate | null;
  /** seconds since midnight, or since the start where the stamp counts elapsed hours; null where only a date stands */
  readonly secondsOfDay: number | null;
  /** what the last digit is worth: 0.001 for three decimals, 60 where no seconds are written */
  readonly stepSeconds: number;
  /** seconds east of Greenwich, null where no zone is written */
  readonly zoneSeconds: number | null;
  readonly twelveHour: boolean;
}

const months = [
  /^jan|^gen|^ene|^янв|^sty|^led|^oca|^tam/,
  /^feb|^f[eé]v|^фев|^lut|^úno|^şub|^hel/,
  /^m[aäå]r(?!ras)|^mrt|^mrz|^мар|^bře|^maa/,
  /^apr|^ápr|^avr|^abr|^апр|^kwi|^dub|^nis|^huh/,
  /^m[aá][iyj]|^mag|^май|^мая|^kvě|^tou/,
  /^j[uú]n|^juin|^giu|^июн|^cze|^červ(?!en?c)|^haz|^kes/,
  /^j[uú]l|^juil|^lug|^июл|^lip|^červen?c|^tem|^hei/,
  /^aug|^ao[uû]|^ago|^авг|^sie|^srp|^ağu|^elo/,
  /^s(?:ze)?ep|^set|^сен|^wrz|^zář|^eyl|^syy/,
  /^o[ck]t|^out|^ott|^окт|^paź|^říj|^eki|^lok/,
  /^nov|^ноя|^lis|^kas|^marras/,
  /^de[cszk]|^d[eé]c|^dic|^дек|^gru|^pro|^ara|^jou/,
];

const basic = /^(\d{4})(\d{2})(\d{2})(?:[T_ -]?(\d{2})(\d{2})(\d{2})(?:[.,](\d{1,9}))?)?\s*(Z|[+-]\d{2}:?\d{2})?$/i;
const yearFirst = /^(\d{4})[-/.](?:(?<=\.)\s)?(\d{1,2})[-/.](?:(?<=\.)\s)?(\d{1,2})(?:\.(?=\s|$))?/;
const threeNumbers = /^(\d{1,2})([-/.])(?:(?<=\.)\s)?(\d{1,2})\2(?:(?<=\.)\s)?(\d{4}|\d{2})(?!\d)/;
const dayName = /^(\d{1,2})[-\s./]+([\p{L}]{3,10})\.?[-\s.,/]+(\d{4}|\d{2})(?!\d|:)/u;
const nameDay = /^([\p{L}]{3,10})\.?[-\s]+(\d{1,2}),?[-\s]+(\d{4})/u;
const timeOfDay =
  /^(?:(\d{1,4})(?:[.\sd]\s*|\s*days?,?\s*|:(?=\d{1,2}:\d{2}:\d{2})))?(\d{1,4})[:h](\d{2})(?:[:m](\d{2})s?(?:[.,:](\d{1,9}))?|[.,](\d{1,9}))?\s*(?:([ap])\.?\s?m\.?)?\s*(Z|(?:UTC|GMT)?[+-]\d{2}:?\d{2}|(?:UTC|GMT)?[+-]\d{1,2}|UTC|GMT)?(?:\s*[A-Z]{3,4})?$/i;
/** `20260304 10:00:00` */
const basicDate = /^((?:19|20)\d{2})(\d{2})(\d{2})[T ,;_]\s*(?=\d{1,2}:)/i;
const ctimeYear =
  /^([\p{L}]{3,10})\s+(\d{1,2})\s+(\d{1,2}:\d{2}:\d{2}\S*)\s+(?:[A-Z]{3,4}\s+|((?:GMT|UTC)[+-]\d{1,2}:?\d{2})\s+)?(\d{4})$/u;

/**
 * @param text as `2026-03-04T10:00:00.5Z`, `04.03.26 10:00:00`, `3/4/2026 10:00:00 PM`, `4 Mar 2026`, `10:00:00,5`, `26:10:00`
 * @returns null where the text is no stamp; a plain number is none, whatever it counts
 * @example parseStamp("04.03.2026 10:00:00,5") // date 4, 3, 2026 (ambiguous), secondsOfDay 36000.5, stepSeconds 0.1
 */
export function parseStamp(text: string): Stamp | null {
  let rest = text.trim();
  if (rest.length > 96) return null;
  rest = withPlainWords(withoutBrackets(rest));
  if (rest.length < 4 || rest.length > 48 || !/\d/.test(rest)) return null;
  const compact = basicStamp(rest);
  if (compact !== null) return compact;
  rest = rest.replace(ctimeYear, "$1 $2 $5 $3 $4").replace(basicDate, "$1-$2-$3 ");
  const found = parseDate(rest);
  if (found === null) return parseTimeOfDay(withColons(rest)) ?? elapsedInLetters(rest);
  rest = withColons(rest.slice(found.length).replace(/^\s*[T,;_\-\s]?\s*/i, ""));
  if (rest === "")
    return { date: found.date, secondsOfDay: null, stepSeconds: 86_400, zoneSeconds: null, twelveHour: false };
  const time = parseTimeOfDay(rest);
  return time === null || time.secondsOfDay === null || time.secondsOfDay >= 86_401
    ? null
    : { ...time, date: found.date };
}

function elapsedInLetters(text: string): Stamp | null {
  const duration = isPlainlyDuration(text) ? parseDuration(text) : null;
  return duration === null ? null : lapse(duration.seconds, duration.stepSeconds);
}

/** Time since the start. */
export const lapse = (secondsOfDay: number, stepSeconds: number): Stamp => ({
  date: null,
  secondsOfDay,
  stepSeconds,
  zoneSeconds: null,
  twelveHour: false,
});

/** `[10:00:00]` of a program's log; `2026-03-04T10:00:00+01:00[Region/Town]`, whose offset says all that is needed. */
const withoutBrackets = (text: string): string =>
  text.endsWith("]") ? text.replace(/^\[(.*)\]$/s, "$1").replace(/\[[^[\]]*\]$/, "") : text;

/** `10.00.07` and `10-00-07` as `10:00:07`, for where no date can be meant. */
export const withColons = (text: string): string => text.replace(/^(\d{1,2})([.-])(\d{2})\2(\d{2})(?!\d)/, "$1:$3:$4");

function parseDate(text: string): { date: StampDate; length: number } | null {
  let match = yearFirst.exec(text);
  if (match !== null) return dated("year-first", match, match[1], match[2], match[3]);
  match = threeNumbers.exec(text);
  if (match !== null)
    return dated(match[2] === "." ? "day-month-year" : "ambiguous", match, match[1], match[3], match[4]);
  match = dayName.exec(text);
  if (match !== null) return dated("day-month-year", match, match[1], monthNumber(match[2]), match[3]);
  match = nameDay.exec(text);
  if (match !== null) return dated("day-month-year", match, match[2], monthNumber(match[1]), match[3]);
  return null;
}

const monthNumber = (name = ""): string => String(1 + months.findIndex((month) => month.test(name.toLowerCase())));

function dated(form: DateForm, match: RegExpExecArray, ...texts: (string | undefined)[]) {
  const numbers = texts.map(Number) as [number, number, number];
  const isShort = form !== "year-first" && numbers[2] < 100;
  if (isShort) numbers[2] += 2000;
  const date: StampDate = { form, numbers, shortYearMark: isShort ? (/[-/.]/.exec(match[0])?.[0] ?? null) : null };
  const possible = epochOfDate(date, true) !== null || (form === "ambiguous" && epochOfDate(date, false) !== null);
  return possible ? { date, length: match[0].length } : null;
}

function parseTimeOfDay(text: string): Stamp | null {
  // Before a trigger some count down to it.
  if (/^[-−]\d/.test(text)) {
    const after = parseTimeOfDay(text.slice(1));
    return after === null || after.secondsOfDay === null ? null : { ...after, secondsOfDay: -after.secondsOfDay };
  }
  const match = timeOfDay.exec(text);
  if (match === null) return null;
  const [, days, first, second, third, fraction, shortFraction, half, zone] = match;
  // mm:ss.f: a fraction without a third number can only belong to seconds.
  const isMinutes = shortFraction !== undefined;
  const decimals = fraction ?? shortFraction ?? "";
  const part = Number(`0.${decimals || "0"}`);
  const [hours, minutes, seconds] = isMinutes
    ? [0, Number(first), Number(second)]
    : [Number(first), Number(second), Number(third ?? 0)];
  if ((!isMinutes && minutes > 59) || seconds > 60) return null;
  if (half !== undefined && (hours < 1 || hours > 12)) return null;
  const hour = half === undefined ? hours : (hours % 12) + (half.toLowerCase() === "p" ? 12 : 0);
  const secondsOfDay = Number(days ?? 0) * 86_400 + hour * 3600 + minutes * 60 + seconds + part;
  const stepSeconds = decimals === "" ? (third === undefined ? 60 : 1) : Number(`1e-${decimals.length}`);
  return { date: null, secondsOfDay, stepSeconds, zoneSeconds: zoneOf(zone), twelveHour: half !== undefined };
}

function basicStamp(text: string): Stamp | null {
  const match = basic.exec(text);
  if (match === null) return null;
  const [, year, month, day, hours, minutes, seconds, fraction, zone] = match;
  // Eight bare digits may be a count as well; only a date of our own times is believed.
  if (hours === undefined && (Number(year) < 1990 || Number(year) > 2100)) return null;
  const date: StampDate = {
    form: "year-first",
    numbers: [Number(year), Number(month), Number(day)],
    shortYearMark: null,
  };
  if (epochOfDate(date, true) === null) return null;
  if (hours === undefined)
    return { date, secondsOfDay: null, stepSeconds: 86_400, zoneSeconds: null, twelveHour: false };
  if (Number(hours) > 23 || Number(minutes) > 59 || Number(seconds) > 60) return null;
  const secondsOfDay = Number(hours) * 3600 + Number(minutes) * 60 + Number(seconds) + Number(`0.${fraction ?? "0"}`);
  const stepSeconds = fraction === undefined ? 1 : Number(`1e-${fraction.length}`);
  return { date, secondsOfDay, stepSeconds, zoneSeconds: zoneOf(zone), twelveHour: false };
}

function zoneOf(zone: string | undefined): number | null {
  if (zone === undefined) return null;
  const match = /^(?:UTC|GMT)?([+-])(\d{1,2}):?(\d{2})?$/i.exec(zone);
  if (match === null) return 0;
  const size = Number(match[2]) * 3600 + Number(match[3] ?? 0) * 60;
  return match[1] === "-" ? -size : size;
}

/** The zone that a header names: `Date Time, GMT+01:00`, `time_utc`; null: none. */
export function zoneIn(header: string): number | null {
  const zone = /(?:^|[^a-z])((?:UTC|GMT)(?:\s*[+-]\d{1,2}(?::?\d{2})?)?)(?![a-z\d])/i.exec(header)?.[1];
  return zone === undefined ? null : zoneOf(zone.replace(/\s/g, ""));
}

/**
 * Unix time of a date's midnight, the date read as if at Greenwich.
 * @param dayFirst of the two numbers of an ambiguous date, the first is the day
 * @returns null where there is no such day
 */
export function epochOfDate(date: StampDate, dayFirst: boolean): number | null {
  const [a, b, c] = date.numbers;
  const [year, month, day] =
    date.form === "year-first" ? [a, b, c] : date.form === "day-month-year" || dayFirst ? [c, b, a] : [c, a, b];
  const at = Date.UTC(year, month - 1, day);
  const back = new Date(at);
  if (back.getUTCMonth() !== month - 1 || back.getUTCDate() !== day || !(year >= 1900 && year < 2200)) return null;
  return at / 1000;
}

/** Unix time of a whole stamp, ISO 8601 with or without zone (then as if at Greenwich); null where it carries no date. */
export function epochOfStamp(stamp: Stamp, dayFirst: boolean): number | null {
  const midnight = stamp.date === null ? null : epochOfDate(stamp.date, dayFirst);
  return midnight === null ? null : midnight + (stamp.secondsOfDay ?? 0) - (stamp.zoneSeconds ?? 0);
}
