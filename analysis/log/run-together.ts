/**
 * Time of day with hours, minutes and seconds run together: 95958, 95959, 100000. Read as a count it would leap by 41
 * there; read as a clock it goes on in its own steps. And dates run together, whose order a header names.
 */
import { medianStep } from "./clock.ts";
import { epochOfDate, type StampDate } from "./timestamp.ts";

/** Seconds since midnight: 100007.5 → 36007.5. */
export const secondsRunTogether = (tick: number): number =>
  Math.floor(tick / 10_000) * 3600 + (Math.floor(tick / 100) % 100) * 60 + (tick % 100);

/** A clock that shows less has five digits, or is a count. */
const tenOClock = 100_000;
/** So many new minutes without one of 60 seconds or more are no chance. */
const plainMinutes = 4;

/**
 * Whether numbers without a unit tell the time of day. A count of seconds or milliseconds soon holds an impossible one.
 * @param dated a date stands beside them, so that a time of day is looked for
 */
export function areRunTogether(ticks: Float64Array, dated: boolean): boolean {
  if (!ticks.every(isPossible)) return false;
  const times = ticks.map(secondsRunTogether);
  const [step, countedStep] = [medianStep(times, true), medianStep(ticks, true)];
  let minutes = 0;
  let leaps = 0;
  let inStep = 0;
  for (let i = 1; i < ticks.length; i++) {
    if (Math.floor(ticks[i]! / 100) === Math.floor(ticks[i - 1]! / 100)) continue;
    minutes++;
    if (Math.abs(ticks[i]! - ticks[i - 1]! - countedStep) <= step / 2) continue;
    leaps++;
    if (Math.abs(times[i]! - times[i - 1]! - step) <= step / 2) inStep++;
  }
  // Where the numbers leap and the clock goes on in its steps they tell the time; so do late hours, written for long.
  if (inStep > leaps / 2) return true;
  return (ticks[0] ?? 0) >= tenOClock && (dated || minutes >= plainMinutes);
}

const isPossible = (tick: number): boolean =>
  tick >= 0 && tick < 240_000 && tick % 100 < 60 && Math.floor(tick / 100) % 100 < 60;

const orders = {
  ddmmyy: [4, 2, 0],
  mmddyy: [4, 0, 2],
  yymmdd: [0, 2, 4],
  ddmmyyyy: [4, 2, 0],
  mmddyyyy: [4, 0, 2],
  yyyymmdd: [0, 4, 6],
} as const;

export type DateOrder = keyof typeof orders;

/** The order that a header names, as `ddmmyy` or `Date (DDMMYYYY)`; null where it names none. */
export function dateOrderIn(header: string): DateOrder | null {
  const word = /(?:^|[^a-z])(ddmmyy(?:yy)?|mmddyy(?:yy)?|(?:yy)?yymmdd)(?:[^a-z]|$)/i.exec(header)?.[1]?.toLowerCase();
  return (word as DateOrder | undefined) ?? null;
}

/**
 * Midnight of a date with day, month and year run together, as Unix time; null where there is no such day.
 * @param cell its digits; a table program may have taken the first nought off
 * @example midnightRunTogether("051126", "ddmmyy") // 2026-11-05
 */
export function midnightRunTogether(cell: string, order: DateOrder): number | null {
  const digits = cell.trim().padStart(order.length, "0");
  if (digits.length !== order.length || !/^\d+$/.test(digits)) return null;
  const [year, month, day] = orders[order];
  const years = Number(digits.slice(year, year + order.length - 4));
  const date: StampDate = {
    form: "year-first",
    numbers: [
      order.length === 6 ? 2000 + years : years,
      Number(digits.slice(month, month + 2)),
      Number(digits.slice(day, day + 2)),
    ],
    shortYearMark: null,
  };
  return epochOfDate(date, true);
}
