/**
 * The words in a stamp, in the languages that phones and meters write it in, put into one plain form:
 * `14 de marzo de 2026 a las 10:00` → `14 marzo 2026 10:00`, `2026年3月14日 午後2:00:05` → `2026-3-14 2:00:05 PM`.
 */
const weekdayBeforeDay = /^\p{L}{2,12}\.?,?\s+(?=\d{1,2}[.\s]\s*(?:de\s+)?\p{L}{3})/iu;
const weekday = /^(?:mon|tue|wed|thu|fri|sat|sun|mo|di|mi|do|fr|sa|so)[a-z]*\.?,?\s+/i;
/** Between date and time of day. */
const joint = /[,\s]+(?:at|um|à|a las|alle(?: ore)?|klo|kl|o|om|às|в|saat)\.?\s+(?=\d{1,2}[:.h]\d{2})/iu;
const zoneName = /\s*\([\p{L} .-]+\)$/u;
const before = "(?:午前|上午|오전|凌晨|早上)";
const after = "(?:午後|下午|오후|晚上)";
const digitsOfClock = "(\\d{1,2}:\\d{2}(?::\\d{2}(?:[.,]\\d+)?)?)";
const halves: readonly (readonly [RegExp, string])[] = [
  [new RegExp(`${before}\\s*${digitsOfClock}`), " $1 AM"],
  [new RegExp(`${after}\\s*${digitsOfClock}`), " $1 PM"],
  [/\s*(?:πμ|π\.μ\.|ap\.|de\.|dop\.|ÖÖ|ص)$/u, " AM"],
  [/\s*(?:μμ|μ\.μ\.|ip\.|du\.|odp\.|ÖS|م)$/u, " PM"],
];
/** Letters between the numbers of a date and a clock. */
const countWords: readonly (readonly [RegExp, string])[] = [
  [/(\d{4})\s*[年년]\s*(\d{1,2})\s*[月월]\s*(\d{1,2})\s*[日일]/u, "$1-$2-$3 "],
  [/(\d{1,2})\s*[時时시]\s*(\d{1,2})\s*[分분]\s*(\d{1,2}(?:\.\d+)?)\s*[秒초]/u, "$1:$2:$3"],
  [/(\d{1,2})\s*[時时시]\s*(\d{1,2})\s*[分분]/u, "$1:$2"],
];

/** Nothing but digits, marks, and the letters of ISO 8601. */
const isPlain = (text: string): boolean => /^[\d\s:.,/+\-TZ]*$/.test(text);

export function withPlainWords(text: string): string {
  if (isPlain(text)) return text;
  let plain = text.replace(zoneName, "").replace(/\u202f|\u00a0/g, " ");
  for (const [words, form] of countWords) plain = plain.replace(words, form);
  for (const [words, form] of halves) plain = plain.replace(words, form);
  return plain
    .replace(weekdayBeforeDay, "")
    .replace(weekday, "")
    .replace(/^(\d{1,2}\.?) de (\p{L}+) del? /iu, "$1 $2 ")
    .replace(joint, " ")
    .trim();
}
