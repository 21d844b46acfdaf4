/**
 * The time of day as a fraction of a day: what a spreadsheet makes of 10:00:00 where a cell is shown as a plain number,
 * 0,416666667. Read as seconds a whole log would last an instant.
 */
const daySeconds = 86_400;
/** A second is 0.000011574 of a day: with fewer digits nothing tells the two apart. */
const leastDecimals = 8;

/**
 * @param ticks under a header that names time and no unit
 * @param decimals most that were written
 */
export function areDayFractions(ticks: Float64Array, decimals: number): boolean {
  if (ticks.length < 3 || decimals < leastDecimals) return false;
  if (ticks.some((tick) => !(tick >= 0 && tick < 1.000_001))) return false;
  const rounding = 2 * daySeconds * 10 ** -Math.min(decimals, 12) + 1e-6;
  let inDays = 0;
  let inSeconds = 0;
  let steps = 0;
  for (let i = 1; i < ticks.length; i++) {
    const step = ticks[i]! - ticks[i - 1]!;
    if (step === 0) continue;
    steps++;
    if (isWhole(step * daySeconds * 10, 10 * rounding)) inDays++;
    // As seconds such a step would be a round number of microseconds.
    if (isWhole(step * 1e6, 1e-3)) inSeconds++;
  }
  return inDays > 0.9 * steps && inSeconds < 0.5 * steps;
}

const isWhole = (value: number, within: number): boolean =>
  Math.abs(value) > 0.5 && within < 0.3 && Math.abs(value - Math.round(value)) <= within;

/** Serial day of 1970-01-01 in the spreadsheets' 1900 date system (from memory); days of the years 2000 to 2099. */
export const serialDayOfEpoch = 25_569;
export const earliestSerial = 36_526;
export const latestSerial = 73_050;

/** Unix time at which a spreadsheet's numbered day begins; null where it is not of our times. */
export const midnightOfSerialDay = (serial: number): number | null =>
  serial >= earliestSerial && serial <= latestSerial ? (serial - serialDayOfEpoch) * daySeconds : null;
