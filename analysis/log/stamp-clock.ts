/**
 * A clock that writes date and time, or time of day alone, in one column or in two.
 * Ticks are seconds of the day; the date is kept once for each stretch of rows that share it,
 * so that day and month can be told apart when the whole log has been read.
 */
import { type Clock, rescale, type Timeline } from "./clock.ts";
import { parseDuration } from "./duration.ts";
import type { Decision } from "./sample.ts";
import { epochOfDate, lapse, parseStamp, type Stamp, type StampDate, withColons } from "./timestamp.ts";
import { withYearFirst, yearsStandFirst } from "./year-first.ts";

export interface StampClockPlan {
  /** one column, or date and time (and AM/PM) in their order, counted from 0 */
  readonly columns: readonly number[];
  readonly header: string;
  /** the job's word on ambiguous dates */
  readonly dayFirst: boolean | null;
  /** the header's word on them: `Date (MM/DD/YYYY)` */
  readonly dayFirstByHeader: boolean | null;
  /** `Date (yy-mm-dd)` */
  readonly yearFirstByHeader: boolean;
  /** what speaks for month before day, where the dates themselves cannot tell */
  readonly decimalComma: boolean;
  /** the header speaks of time since the start, not of the time of day */
  readonly elapsed: boolean;
  /** time of day written as `10.00.07`, which could be a date */
  readonly dotted: boolean;
  /** `Date Time, GMT+01:00`: seconds east of Greenwich that the header names for stamps without a zone; null: none */
  readonly zoneByHeader: number | null;
  /** midnight of a date that only the preamble names; null: none */
  readonly preambleMidnight: number | null;
}

interface Stretch {
  readonly row: number;
  readonly date: StampDate | null;
  readonly zoneSeconds: number | null;
}

export class StampClock implements Clock {
  readonly columns: readonly number[];
  #stepSeconds = Number.POSITIVE_INFINITY;
  readonly #plan: StampClockPlan;
  #stretches: Stretch[] = [];
  #twelveHour = false;
  #mostHours = 0;

  constructor(plan: StampClockPlan) {
    this.#plan = plan;
    this.columns = plan.columns;
  }

  read(cells: readonly string[], row: number): number {
    const text = this.textOf(cells);
    const stamp = parseStamp(text) ?? lapseOf(text);
    return stamp === null ? Number.NaN : this.#tick(stamp, row);
  }

  /** The stamp's text, its columns joined. */
  textOf(cells: readonly string[]): string {
    const first = (cells[this.columns[0]!] ?? "").trim();
    if (this.columns.length === 1) return this.#plan.dotted ? withColons(first) : first;
    return this.columns.map((column) => cells[column] ?? "").join(" ");
  }

  noteDecimals(decimals: number): void {
    if (decimals > 0) this.#stepSeconds = Math.min(this.#stepSeconds, Number(`1e-${decimals}`));
  }

  #tick(stamp: Stamp, row: number): number {
    const last = this.#stretches.at(-1);
    const date = stamp.date ?? last?.date ?? null;
    const zoneSeconds = stamp.zoneSeconds ?? (date === null ? null : this.#plan.zoneByHeader);
    if (last === undefined || !sameDate(last.date, date) || last.zoneSeconds !== zoneSeconds) {
      this.#stretches.push({ row, date, zoneSeconds });
    }
    if (stamp.stepSeconds < this.#stepSeconds) this.#stepSeconds = stamp.stepSeconds;
    if (stamp.twelveHour) this.#twelveHour = true;
    const tick = stamp.secondsOfDay ?? 0;
    if (tick > this.#mostHours) this.#mostHours = tick;
    return tick;
  }

  timeline(ticks: Float64Array): Timeline {
    const yearWarnings = this.#placeYears();
    const dated = this.#stretches.some((stretch) => stretch.date !== null);
    const order = this.#dayFirst(ticks);
    const minutes = !dated && this.#countsMinutes(ticks);
    const stepSeconds = Number.isFinite(this.#stepSeconds) ? this.#stepSeconds / (minutes ? 60 : 1) : 0;
    const first = this.#stretches[0];
    const origin = first?.date ? (epochOfDate(first.date, order.dayFirst) ?? 0) - (first.zoneSeconds ?? 0) : null;
    return {
      seconds: minutes ? rescale(ticks, 0, 1, 60) : this.#seconds(ticks, order.dayFirst),
      originEpochSeconds: origin ?? this.#plan.preambleMidnight,
      stampSeconds: stepSeconds,
      wrapsAtMidnight: !dated && !minutes,
      localTime: dated && this.#stretches.every((stretch) => stretch.zoneSeconds === null),
      decisions: [this.#decision(dated, minutes), ...order.decisions],
      warnings: [...yearWarnings, ...order.warnings],
    };
  }

  /** Years of two digits that stand first are put so. @returns what is left in doubt */
  #placeYears(): string[] {
    const dates = this.#stretches.flatMap(({ date }) => date ?? []);
    const { dayFirst, dayFirstByHeader, yearFirstByHeader } = this.#plan;
    const said = dayFirst !== null || dayFirstByHeader !== null;
    const first = yearFirstByHeader ? "yes" : said ? "no" : yearsStandFirst(dates);
    if (first === "perhaps")
      return [`the year of ${shownDate(dates[0]!)} was taken to stand last; it could stand first`];
    if (first === "yes" && dates.every(({ shortYearMark }) => shortYearMark !== null)) {
      this.#stretches = this.#stretches.map((stretch) =>
        stretch.date === null ? stretch : { ...stretch, date: withYearFirst(stretch.date) },
      );
    }
    return [];
  }

  /** Seconds on from the first stretch's midnight, in place. */
  #seconds(ticks: Float64Array, dayFirst: boolean): Float64Array {
    const bases = this.#bases(dayFirst);
    for (let k = 0; k < bases.length; k++) {
      const end = this.#stretches[k + 1]?.row ?? ticks.length;
      const base = bases[k]!;
      if (base !== 0) for (let i = this.#stretches[k]!.row; i < end; i++) ticks[i] = ticks[i]! + base;
    }
    return ticks;
  }

  /** For each stretch, the seconds from the first one's midnight to its own. */
  #bases(dayFirst: boolean): number[] {
    const midnights = this.#stretches.map(({ date, zoneSeconds }) =>
      date === null ? 0 : (epochOfDate(date, dayFirst) ?? Number.NaN) - (zoneSeconds ?? 0),
    );
    let base = 0;
    return midnights.map((midnight) => {
      // A date that the chosen order cannot read is taken for a damaged one: the clock goes on from the last good date.
      if (!Number.isNaN(midnight)) base = midnight - (midnights[0] || 0);
      return base;
    });
  }

  /** `10:15` without seconds: minutes and seconds where the log begins at nought or its hours pass 24. */
  #countsMinutes(ticks: Float64Array): boolean {
    if (this.#stepSeconds !== 60) return false;
    return this.#mostHours >= 90_000 || this.#plan.elapsed || (ticks[0] ?? 0) < 300;
  }

  #decision(dated: boolean, minutes: boolean): Decision {
    const value = dated ? "date and time" : minutes ? "minutes and seconds" : "time of day or elapsed hours";
    const sure = !dated && this.#stepSeconds === 60 ? 0.7 : 0.98;
    const twelve = this.#twelveHour ? ", 12-hour" : "";
    return {
      what: "timeColumn",
      value: `${this.#plan.header}: ${value}${twelve}`,
      evidence: "how the stamps are written",
      sure,
    };
  }

  #dayFirst(ticks: Float64Array): { dayFirst: boolean; decisions: Decision[]; warnings: string[] } {
    const dates = this.#stretches.flatMap(({ date }) => (date?.form === "ambiguous" ? [date] : []));
    if (dates.length === 0) return { dayFirst: true, decisions: [], warnings: [] };
    const decided = (dayFirst: boolean, evidence: string, sure: number) => ({
      dayFirst,
      decisions: [{ what: "dayFirst", value: String(dayFirst), evidence, sure }],
      warnings:
        sure > 0.9
          ? []
          : [
              `the date ${dates[0]!.numbers.slice(0, 2).join(" ")} could be day-month or month-day and was read as ${dayFirst ? "day-month" : "month-day"}; set 'dayFirst' to say which`,
            ],
    });
    if (this.#plan.dayFirst !== null) return decided(this.#plan.dayFirst, "the job says so", 1);
    if (this.#plan.dayFirstByHeader !== null) return decided(this.#plan.dayFirstByHeader, "the header says so", 0.99);
    const impossible = (dayFirst: boolean) => dates.filter((date) => epochOfDate(date, dayFirst) === null).length;
    const [dayWrong, monthWrong] = [impossible(true), impossible(false)];
    if (dayWrong !== monthWrong)
      return decided(dayWrong < monthWrong, "the other order names days that do not exist", 0.99);
    const [daySpan, monthSpan] = [this.#span(ticks, true), this.#span(ticks, false)];
    if (daySpan !== monthSpan) return decided(daySpan < monthSpan, "the log then runs on without leaps", 0.97);
    if (this.#twelveHour && !this.#plan.decimalComma) return decided(false, "12-hour clock", 0.7);
    return decided(
      true,
      this.#plan.decimalComma ? "decimal comma" : "most of the world writes the day first",
      this.#plan.decimalComma ? 0.85 : 0.6,
    );
  }

  /** Days that the clock travels in all, forward and back, in one of the two orders. */
  #span(ticks: Float64Array, dayFirst: boolean): number {
    const bases = this.#bases(dayFirst);
    let travelled = 0;
    for (let k = 1; k < bases.length; k++) {
      const row = this.#stretches[k]!.row;
      travelled += Math.abs(ticks[row]! + bases[k]! - ticks[row - 1]! - bases[k - 1]!);
    }
    return Math.round(travelled / 86_400);
  }
}

/** `5 s` among `1m 05s`: a number with its unit anywhere else. */
function lapseOf(text: string): Stamp | null {
  const duration = parseDuration(text.trim());
  return duration === null ? null : lapse(duration.seconds, duration.stepSeconds);
}

const shownDate = ({ numbers: [a, b, c], shortYearMark }: StampDate): string =>
  [a, b, c % 100].map((number) => String(number).padStart(2, "0")).join(shortYearMark ?? " ");

const sameDate = (a: StampDate | null, b: StampDate | null): boolean =>
  a === b ||
  (a !== null &&
    b !== null &&
    a.form === b.form &&
    a.numbers[0] === b.numbers[0] &&
    a.numbers[1] === b.numbers[1] &&
    a.numbers[2] === b.numbers[2]);
