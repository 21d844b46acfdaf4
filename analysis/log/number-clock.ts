/**
 * A clock that writes plain numbers: seconds, milliseconds or minutes from start, Unix time in s, ms, µs or ns,
 * or a spreadsheet's serial day.
 */
import { type Clock, medianStep, rescale, type Timeline } from "./clock.ts";
import { areDayFractions, earliestSerial, latestSerial, serialDayOfEpoch } from "./day-fraction.ts";
import { type DecimalSign, parseSettling } from "./number-cell.ts";
import { countFalls } from "./row-order.ts";
import { areRunTogether, secondsRunTogether } from "./run-together.ts";
import type { Decision } from "./sample.ts";
import { toSi, type Unit } from "./unit.ts";

/** Unix time of the years 2000 to 2065: a count of seconds in between is taken for a date, no log runs that long. */
const earliestEpoch = 946_684_800;
const latestEpoch = 3_000_000_000;

export interface NumberClockPlan {
  readonly column: number;
  readonly decimal: DecimalSign;
  /** from the header, the unit row or the job; null: the numbers must tell */
  readonly unit: Unit | null;
  /** the header cell, for what is said of it */
  readonly header: string;
  /** the header speaks of a date or time of day, so that serial days are possible */
  readonly mayBeDate: boolean;
  /** Unix time of the first row from a preamble or another column; used where the numbers carry no date */
  readonly firstRowEpochSeconds: number | null;
  /** midnight of the date in a column beside, or in the preamble: used where the numbers tell the time of day */
  readonly midnightEpochSeconds: number | null;
}

interface Scale {
  readonly multiply: number;
  readonly divide: number;
  /** Unix time at which the scaled number reads 0; null: no date in it */
  readonly origin: number | null;
  readonly what: string;
  readonly sure: number;
  readonly evidence: string;
  /** begins anew at midnight */
  readonly wraps?: boolean;
}

export class NumberClock implements Clock {
  readonly columns: readonly number[];
  readonly #plan: NumberClockPlan;
  #decimals = 0;
  #unitBeside = false;

  constructor(plan: NumberClockPlan) {
    this.#plan = plan;
    this.columns = [plan.column];
  }

  read(cells: readonly string[]): number {
    const cell = parseSettling(cells[this.#plan.column] ?? "", this.#plan.decimal);
    if (cell.kind !== "number") return Number.NaN;
    this.noteDecimals(cell.decimals);
    if (cell.unit === null) return cell.value;
    if (cell.unit.quantity !== "seconds") return Number.NaN;
    this.#unitBeside = true;
    return toSi(cell.value, cell.unit);
  }

  noteDecimals(decimals: number): void {
    if (decimals > this.#decimals) this.#decimals = decimals;
  }

  timeline(ticks: Float64Array): Timeline {
    return this.#tellsTimeOfDay(ticks) ? this.#timeOfDay(ticks) : this.#counted(ticks);
  }

  #tellsTimeOfDay(ticks: Float64Array): boolean {
    if (this.#unitBeside || this.#plan.unit !== null || !this.#plan.mayBeDate) return false;
    return areRunTogether(ticks, this.#plan.midnightEpochSeconds !== null);
  }

  #timeOfDay(ticks: Float64Array): Timeline {
    for (let i = 0; i < ticks.length; i++) ticks[i] = secondsRunTogether(ticks[i]!);
    return {
      seconds: ticks,
      originEpochSeconds: this.#plan.midnightEpochSeconds,
      stampSeconds: 10 ** -Math.max(this.#decimals, 0),
      wrapsAtMidnight: true,
      localTime: false,
      decisions: [
        {
          what: "timeColumn",
          value: `${this.#plan.header}: time of day, hours, minutes and seconds run together`,
          evidence: "none of the numbers has 60 or more minutes or seconds",
          sure: 0.95,
        },
      ],
      warnings: [],
    };
  }

  #counted(ticks: Float64Array): Timeline {
    const scale = this.#scale(ticks);
    const first = scale.origin === null ? 0 : (ticks[0] ?? 0);
    const seconds = rescale(ticks, first, scale.multiply, scale.divide);
    const dated = scale.origin === null ? null : scale.origin + (first * scale.multiply) / scale.divide;
    const stated = this.#plan.firstRowEpochSeconds;
    const origin = dated ?? (stated === null ? null : stated - (seconds[0] ?? 0));
    return {
      seconds,
      originEpochSeconds: origin,
      stampSeconds: (10 ** -this.#decimals * scale.multiply) / scale.divide,
      wrapsAtMidnight: scale.wraps ?? false,
      localTime: false,
      decisions: [this.#decision(scale)],
      warnings:
        scale.sure < 0.9 ? [`the time column '${this.#plan.header}' names no unit and was read as ${scale.what}`] : [],
    };
  }

  #decision(scale: Scale): Decision {
    return {
      what: "timeColumn",
      value: `${this.#plan.header}: ${scale.what}`,
      evidence: scale.evidence,
      sure: scale.sure,
    };
  }

  #scale(ticks: Float64Array): Scale {
    const first = ticks[0] ?? 0;
    const unit = this.#plan.unit;
    if (this.#unitBeside) return elapsed(1, 1, "seconds from start", 0.99, "the unit beside the number");
    if (unit !== null) {
      const isEpoch = within(toSi(first, unit), earliestEpoch, latestEpoch);
      return isEpoch
        ? {
            multiply: unit.multiply,
            divide: unit.divide,
            origin: 0,
            what: `Unix time in ${unit.text}`,
            sure: 0.99,
            evidence: "unit and size of the numbers",
          }
        : elapsed(unit.multiply, unit.divide, `${unit.text} from start`, 0.99, `the unit '${unit.text}'`);
    }
    return (
      this.#epochScale(first) ??
      this.#serialScale(ticks) ??
      this.#dayFraction(ticks) ??
      guessElapsed(ticks, this.#decimals)
    );
  }

  #epochScale(first: number): Scale | null {
    for (const [divide, name] of [
      [1, "s"],
      [1e3, "ms"],
      [1e6, "µs"],
      [1e9, "ns"],
    ] as const) {
      if (!within(first / divide, earliestEpoch, latestEpoch)) continue;
      return {
        multiply: 1,
        divide,
        origin: 0,
        what: `Unix time in ${name}`,
        sure: 0.97,
        evidence: `the first is ${first}`,
      };
    }
    return null;
  }

  #dayFraction(ticks: Float64Array): Scale | null {
    if (!this.#plan.mayBeDate || !areDayFractions(ticks, this.#decimals)) return null;
    return {
      multiply: 86_400,
      divide: 1,
      origin: this.#plan.midnightEpochSeconds,
      what: "time of day as a fraction of the day",
      sure: 0.95,
      evidence: "the steps are whole tenths of a second then",
      wraps: true,
    };
  }

  #serialScale(ticks: Float64Array): Scale | null {
    const first = ticks[0] ?? 0;
    const step = medianStep(ticks, true);
    // Ten minutes at most between rows, written to 9 s or finer: else it is a count of seconds that began at 40,000.
    if (!this.#plan.mayBeDate || !within(first, earliestSerial, latestSerial)) return null;
    if (this.#decimals < 4 || step > 600 / 86_400) return null;
    return {
      multiply: 86_400,
      divide: 1,
      origin: -serialDayOfEpoch * 86_400,
      what: "a spreadsheet's serial day",
      sure: 0.95,
      evidence: `the first is ${first}`,
    };
  }
}

const within = (value: number, low: number, high: number): boolean => value >= low && value <= high;

const elapsed = (multiply: number, divide: number, what: string, sure: number, evidence: string): Scale => ({
  multiply,
  divide,
  origin: null,
  what,
  sure,
  evidence,
});

/** No unit anywhere: whole numbers a hundred or more apart are milliseconds, unless they count whole minutes. */
function guessElapsed(ticks: Float64Array, decimals: number): Scale {
  // Steps between rows that do not stand in order say nothing of the clock.
  const step = medianStep(countFalls(ticks) < ticks.length / 10 ? ticks : ticks.toSorted(), true);
  const evidence = `no unit is named; the numbers are mostly ${Number(step.toPrecision(6))} apart`;
  const looksLikeMilliseconds = decimals <= 0 && step >= 100 && step % 60 !== 0;
  if (!looksLikeMilliseconds) return elapsed(1, 1, "seconds from start", step >= 60 ? 0.85 : 0.95, evidence);
  return elapsed(1, 1000, "milliseconds from start", 0.8, evidence);
}
