/**
 * Time since the start with its units in letters: `1h 02m 05s`, `2m 5.5s`, `0d 00h 00m 01s`, and ISO 8601's `PT1M30.5S`.
 */
export interface Duration {
  readonly seconds: number;
  /** what the last digit is worth */
  readonly stepSeconds: number;
}

const letters =
  /^(?:(\d+)\s*(?:d|days?|tage?)[\s,]*)?(?:(\d+)\s*(?:h|hrs?|hours?|std)[\s,]*)?(?:(\d+)\s*(?:m|min|mins|minutes?)[\s,]*)?(?:(\d+)(?:[.,](\d{1,9}))?\s*(?:s|sec|secs|seconds?|sek))?$/i;
const iso = /^P(?:(\d+)D)?T?(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)(?:[.,](\d{1,9}))?S)?$/i;

/** @returns null where the text is none; `5 s` alone is one */
export function parseDuration(text: string): Duration | null {
  const match = iso.exec(text) ?? letters.exec(text);
  if (match === null) return null;
  const [, days, hours, minutes, seconds, fraction] = match;
  if ([days, hours, minutes, seconds].every((part) => part === undefined)) return null;
  const [d, h, m, s] = [days, hours, minutes, seconds].map((part) => Number(part ?? 0)) as [
    number,
    number,
    number,
    number,
  ];
  return {
    seconds: d * 86_400 + h * 3600 + m * 60 + s + Number(`0.${fraction ?? "0"}`),
    stepSeconds: fraction !== undefined ? Number(`1e-${fraction.length}`) : seconds !== undefined ? 1 : 60,
  };
}

/** Whether units stand beside two numbers or more, or ISO 8601's letters: what is no number with its unit. */
export const isPlainlyDuration = (text: string): boolean =>
  /^P/i.test(text) || (text.match(/\d+(?:[.,]\d+)?/g)?.length ?? 0) > 1;
