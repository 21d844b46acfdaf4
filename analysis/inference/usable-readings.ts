/**
 * Which of a round's readings belief rests on: those that tell of a state, not of the way from one to the next.
 * A level that another cause than a contact moved is no shift of a contact: the engine's, or a voice's.
 */
import type { Job } from "../job/job.ts";
import { isAcrossBattery, type Reading } from "../reading/reading.ts";
import { alikeShare, engineCurrentChange, openedVolts } from "./prior.ts";

export function usableReadings(job: Job, readings: readonly Reading[]): Reading[] {
  const settled = readings.filter((reading) => !isTransitional(reading, readings));
  const moved = (reading: Reading) => reading.disturbed && !isShift(job, reading, settled);
  return settled.filter((reading) => !moved(reading)).map((reading) => notBelowNothing(reading, settled));
}

/** Behind a contact that opened nothing is left of the supply, and nothing turns it round: what a meter then shows is its own. */
function notBelowNothing(reading: Reading, readings: readonly Reading[]): Reading {
  const level = reading.disturbed && reading.seesSource ? undisturbed(reading, readings) : undefined;
  return level !== undefined && reading.value * level.value < 0 ? { ...reading, value: 0 } : reading;
}

/** Of a log that knows its engine, a level without one lies between two states; it has others of both to tell more. */
function isTransitional({ engine, session, radio }: Reading, readings: readonly Reading[]): boolean {
  return (
    engine === null &&
    readings.some(
      (other) => other.session === session && other.radio === radio && other.engine !== null && !other.disturbed,
    )
  );
}

function isShift(job: Job, reading: Reading, readings: readonly Reading[]): boolean {
  if (isPulsed(job)) return shiftVolts(reading, readings) > openedVolts;
  return !allMovedAlike(reading, readings) && !onlyBatteryMoved(reading, readings);
}

/** A contact moves the volts of what it feeds more than the battery's: where those stood still, no contact moved. */
function onlyBatteryMoved(reading: Reading, readings: readonly Reading[]): boolean {
  const beside = readings.filter(
    (other) => other.logged && other.moment === null && other.radio === "transmit" && !isAcrossBattery(other.place),
  );
  return (
    isAcrossBattery(reading.place) &&
    reading.moment === null &&
    beside.length > 0 &&
    !beside.some(({ disturbed }) => disturbed)
  );
}

/** A set whose current follows the voice or the key: it pulses faster than most meters look. */
export const isPulsed = ({ load }: Pick<Job, "load">): boolean => load.emission !== undefined && load.emission !== "fm";

function shiftVolts(reading: Reading, readings: readonly Reading[]): number {
  const level = undisturbed(reading, readings);
  return reading.place.quantity === "volts" && level !== undefined ? Math.abs(reading.value - level.value) : 0;
}

/**
 * Drops and clamps that have all moved by one share have seen the current change, as it does when the engine starts or
 * stops; a contact that shifts moves its own drop by another share than the rest.
 */
function allMovedAlike(reading: Reading, readings: readonly Reading[]): boolean {
  const all = movesWith(reading, readings);
  if (runMoved(all.filter(({ to }) => to.seesSource))) return false;
  const moves = all.filter(({ to }) => !to.seesSource);
  const clear = moves.filter(({ from, doubt }) => Math.hypot(doubt, from.counts) < alikeShare * Math.abs(from.value));
  if (clear.length < 2) return false;
  const shares = clear.map(({ from, to }) => to.value / from.value).sort((a, b) => a - b);
  const common = shares[shares.length >> 1]!;
  if (common < Math.exp(-engineCurrentChange) || common > Math.exp(engineCurrentChange)) return false;
  return moves.every(({ from, to, doubt }) => {
    const miss = Math.abs(to.value - common * from.value);
    // The counts error stays as it is in both levels.
    return miss < 3 * doubt + Math.abs(common - 1) * from.counts + alikeShare * Math.abs(from.value);
  });
}

/** A level that moved, from where a recording stands in that state. */
interface Move {
  readonly from: Reading;
  readonly to: Reading;
  /** of the two, independent of each other */
  readonly doubt: number;
}

/** What moved in the logs of one clock, in a reading's state. */
function movesWith({ moment, engine }: Reading, readings: readonly Reading[]): Move[] {
  return readings.flatMap((to) => {
    const together = to.disturbed && to.moment === moment && to.engine === engine;
    const from = together ? undisturbed(to, readings) : undefined;
    return from === undefined ? [] : [{ from, to, doubt: Math.hypot(to.noise, from.noise) }];
  });
}

/** Whether more or less is lost between battery and load, by more than another current does. */
function runMoved(moves: readonly Move[]): boolean {
  const battery = moves.find(({ to }) => isAcrossBattery(to.place));
  if (battery === undefined) return false;
  // Probes may have been swapped.
  const by = ({ from, to }: Move) => Math.abs(to.value) - Math.abs(from.value);
  return moves.some((move) => {
    const another = engineCurrentChange * Math.abs(Math.abs(battery.from.value) - Math.abs(move.from.value));
    return Math.abs(by(move) - by(battery)) > 3 * Math.hypot(move.doubt, battery.doubt) + another;
  });
}

/** The same recording's level in the same state, no contact shifted. */
export const undisturbed = (reading: Reading, readings: readonly Reading[]): Reading | undefined =>
  readings.find(
    ({ session, engine, radio, disturbed }) =>
      session === reading.session && engine === reading.engine && radio === reading.radio && !disturbed,
  );
