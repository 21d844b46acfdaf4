/**
 * From the clock of each log to the common one, the first log's, and back: s = t × (1 + drift) + shift.
 * `offsetSeconds` compares the clocks as stamped where both carry dates, else counted from each log's first sample.
 */
export interface OwnClock {
  readonly toOwn: (commonSeconds: number) => number;
  readonly toCommon: (ownSeconds: number) => number;
  readonly aligned: boolean;
}

export interface ClockFacts {
  readonly offsetSeconds: number | null;
  readonly driftPpm: number | null;
  readonly startEpochSeconds: number | null;
}

export function ownClock(
  { offsetSeconds, driftPpm, startEpochSeconds }: ClockFacts,
  firstEpochSeconds: number | null,
): OwnClock {
  if (offsetSeconds === null) return unaligned;
  const dated = startEpochSeconds !== null && firstEpochSeconds !== null;
  const rate = 1 + (driftPpm ?? 0) * 1e-6;
  const shift = offsetSeconds + (dated ? firstEpochSeconds - startEpochSeconds : 0);
  return {
    toOwn: (common) => common * rate + shift,
    toCommon: (own) => (own - shift) / rate,
    aligned: true,
  };
}

/** Shown from its own first sample on: stamps that could not be matched may be hours off. */
const unaligned: OwnClock = { toOwn: (common) => common, toCommon: (own) => own, aligned: false };
