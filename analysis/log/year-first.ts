/**
 * Dates whose year has two digits and may stand first: 26-03-24 is 24 March 2026, or 26 March 2024.
 * One date cannot tell; a year that no such log is of, or the days of a long log, often can.
 */
import { epochOfDate, type StampDate } from "./timestamp.ts";

export type YearsFirst = "yes" | "perhaps" | "no";

/** Logs of this kind are of these years (from memory, with room). */
const earliest = Date.UTC(2015, 0, 1) / 1000;
const latest = Date.UTC(2045, 0, 1) / 1000;

export const withYearFirst = ({ numbers: [a, b, c], shortYearMark }: StampDate): StampDate => ({
  form: "year-first",
  numbers: [2000 + a, b, c % 100],
  shortYearMark,
});

/** @param dates as read with the year last, in the order of the log */
export function yearsStandFirst(dates: readonly StampDate[]): YearsFirst {
  if (dates.length === 0 || dates.some(({ shortYearMark }) => shortYearMark === null)) return "no";
  const first = travelled(dates.map((date) => epochOfDate(withYearFirst(date), true)));
  if (first === null) return "no";
  const last = [true, false].flatMap((dayFirst) => travelled(dates.map((date) => epochOfDate(date, dayFirst))) ?? []);
  const least = Math.min(...last);
  if (first !== least) return first < least ? "yes" : "no";
  // Day, month and year are seldom joined by dashes where the year has two digits.
  return dates[0]!.shortYearMark === "-" ? "perhaps" : "no";
}

/** How far the dates go forward and back in all; null where one is not of our times. */
function travelled(epochs: readonly (number | null)[]): number | null {
  let sum = 0;
  for (let i = 0; i < epochs.length; i++) {
    const epoch = epochs[i]!;
    if (epoch === null || epoch < earliest || epoch > latest) return null;
    if (i > 0) sum += Math.abs(epoch - epochs[i - 1]!);
  }
  return sum;
}
