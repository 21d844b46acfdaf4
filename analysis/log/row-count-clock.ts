/**
 * A clock that counts rows of a stated interval by the number that each row has of itself: a row that is missing, or that
 * holds no value, takes its time all the same, and a line of statistics under the log has no such number.
 */
import { CountedClock, rescale, type Timeline } from "./clock.ts";
import type { DecimalSign } from "./number-cell.ts";
import { NumberClock } from "./number-clock.ts";
import type { Decision } from "./sample.ts";

export interface RowCountPlan {
  /** counted from 0 */
  readonly column: number;
  readonly header: string;
  readonly intervalSeconds: number;
  readonly firstRowEpochSeconds: number | null;
  readonly decision: Decision;
}

export class RowCountClock extends NumberClock {
  readonly #counted: CountedClock;

  constructor({ column, header, intervalSeconds, firstRowEpochSeconds, decision }: RowCountPlan, decimal: DecimalSign) {
    super({
      column,
      header,
      decimal,
      unit: null,
      mayBeDate: false,
      firstRowEpochSeconds: null,
      midnightEpochSeconds: null,
    });
    this.#counted = new CountedClock(intervalSeconds, firstRowEpochSeconds, decision);
  }

  override timeline(ticks: Float64Array): Timeline {
    return this.#counted.timeline(rescale(ticks, ticks[0] ?? 0, 1, 1));
  }
}
