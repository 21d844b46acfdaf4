/**
 * What breaks and shifts of a contact, seen or not seen in logs, say beside the levels themselves: natural-log units.
 */
import type { Reading } from "../reading/reading.ts";
import type { Hypothesis } from "./hypothesis.ts";
import { shiftHiddenShare, shiftLimit, shiftSeen } from "./prior.ts";
import { type PreparedReading, type RoundSetting, sees } from "./round-setting.ts";
import { isPulsed, undisturbed } from "./usable-readings.ts";

/** @returns how much likelier a hypothesis makes that shifts were seen where they were, and not elsewhere */
export function shiftEvidence(setting: RoundSetting): (hypothesis: Hypothesis) => number {
  const keyedLogs = setting.prepared.filter(isKeyedLog);
  // What a voice does to the level hides all shifts but an opening.
  if (keyedLogs.length === 0 || isPulsed(setting.job)) return () => 0;
  const largest = largestShift(keyedLogs);
  const share = shareOfLarge(largest);
  const logOf = (why: keyof typeof shiftSeen.none) =>
    largest === 0
      ? Math.log(shiftSeen.none[why])
      : (1 - share) * Math.log(shiftSeen.small[why]) + share * Math.log(shiftSeen.large[why]);
  const quiet = quietLogs(setting);
  return ({ faults }) => {
    const shifting = faults.find(({ cause }) => cause === "intermittent-connection");
    if (shifting === undefined) return logOf("otherwise");
    const missed = quiet.filter(({ probe }) => sees(probe, shifting.part));
    return missed.reduce((sum, { logShare }) => sum + logShare, logOf("intermittent"));
  };
}

const isKeyedLog = ({ reading }: PreparedReading): boolean => reading.logged && reading.radio === "transmit";

/** The largest shift that is seen; 0 where none is. */
function largestShift(keyedLogs: readonly PreparedReading[]): number {
  const readings = keyedLogs.map(({ reading }) => reading);
  const { deviations, least } = shiftLimit;
  return keyedLogs.reduce((most, { reading, shift, noise }) => {
    if (shift <= most) return most;
    // Where a contact shifts now so, now so, the shifted level is known badly: what it left is not.
    const level = undisturbed(reading, readings);
    const steady = keyedLogs.find((entry) => entry.reading === level)?.noise ?? noise;
    return shift > Math.max(deviations * steady, least) ? shift : most;
  }, 0);
}

/** How much a shift is of a large one: 0 for a small one, 1 for a large one. */
function shareOfLarge(shift: number): number {
  const { small, large } = shiftLimit;
  return Math.min(Math.max(Math.log(shift / small) / Math.log(large / small), 0), 1);
}

/** A log of another moment in which nothing shifted, though it would have shown what others saw. */
export interface QuietLog extends Pick<PreparedReading, "probe"> {
  /** ln of how likely that is where the contact lies in its sight */
  readonly logShare: number;
}

/**
 * A contact that shifted n times in T seconds keyed, at a rate of which no more is known, stays quiet for t seconds more
 * with the probability (T / (T + t))^(n + ½).
 * @example five times in 20 s, then 15 s without: (20/35)^5.5 = 0.046, and 0.1 is left
 */
export function quietLogs({ prepared }: RoundSetting): QuietLog[] {
  const keyed = prepared.filter(isKeyedLog);
  const volts = keyed.filter(({ reading }) => reading.place.quantity === "volts");
  const shifts = volts.filter(({ reading }) => reading.disturbed);
  const size = largestShift(volts);
  if (size === 0) return [];
  const secondsOf = (session: string) =>
    total(
      keyed.filter(({ reading }) => reading.session === session),
      "seconds",
    );
  const seen = shifts.map(({ reading }) => ({
    times: total(
      shifts.filter((other) => other.reading.session === reading.session),
      "times",
    ),
    seconds: secondsOf(reading.session),
  }));
  const most = seen.reduce((one, other) => (other.times > one.times ? other : one));
  const { deviations, least } = shiftLimit;
  const shiftedSessions = new Set(shifts.map(({ reading }) => reading.session));
  return volts
    .filter(({ reading, noise }) => {
      const wouldShow = size > Math.max(2 * deviations * noise, least);
      return reading.moment !== null && !shiftedSessions.has(reading.session) && wouldShow;
    })
    .map(({ reading, probe }) => {
      const quiet = (most.times + 0.5) * Math.log(most.seconds / (most.seconds + secondsOf(reading.session)));
      return { probe, logShare: Math.max(quiet, Math.log(shiftHiddenShare)) };
    });
}

const total = (entries: readonly PreparedReading[], what: keyof Pick<Reading, "seconds" | "times">): number =>
  entries.reduce((sum, { reading }) => sum + reading[what], 0);
