/**
 * What is common to all hypotheses of one round: its readings, each with its place in the loop and its own doubt.
 */
import type { Job } from "../job/job.ts";
import { partsOf, routeBetween } from "../job/route.ts";
import type { ExpectedPart } from "../loop/expected-part.ts";
import { isAcrossBattery, type Place, type Reading } from "../reading/reading.ts";
import type { CircuitSolution } from "./circuit.ts";
import { type Condition, conditionIndex, conditionOf } from "./condition.ts";
import { strayParts } from "./hypothesis.ts";
import * as prior from "./prior.ts";
import { sharedParts } from "./shared-part.ts";
import { expectedTransmitAmps } from "./transmit-amps.ts";
import { isPulsed, undisturbed } from "./usable-readings.ts";

/** A reading with what the fit needs of it looked up once. */
export interface PreparedReading {
  readonly reading: Reading;
  readonly condition: number;
  readonly probe: Probe;
  /** index into the meter unknowns; −1 where it stands alone and its counts are noise */
  readonly gain: number;
  readonly counts: number;
  /** everything that is independent of the other readings, in SI */
  readonly noise: number;
  /** what is added to `noise` where the battery is weak: two keyings then find it at different volts; else 0 */
  readonly sagging: number;
  /** how far a reading taken while a contact had shifted lies from the same recording's undisturbed level; else 0 */
  readonly shift: number;
  /** how much less current than its own undisturbed level a log of another moment shows while disturbed, in its own unit; else 0 */
  readonly starved: number;
  /** how far a keyed drop, taken by itself, lies beyond what its sound parts lose, where it clearly does; else 0 */
  readonly beyondSound: number;
  /** doubts beyond which it tells nothing more, as it may be of another state than it is taken for; null where it may not */
  readonly farthest: number | null;
}

/** Where a meter sits, as places among the parts of the loop. */
export interface Probe {
  readonly sign: 1 | -1;
  /** parts first up to, not with, last; a clamp has the one part `first` */
  readonly first: number;
  readonly last: number;
  readonly throughLoad: boolean;
  readonly clamp: boolean;
}

/** What is common to all hypotheses of one round. */
export interface RoundSetting {
  readonly job: Job;
  readonly expected: readonly ExpectedPart[];
  readonly prepared: readonly PreparedReading[];
  readonly conditions: readonly Condition[];
  /** standard deviations of the gains (relative) and shared counts (SI), in the order of their unknowns */
  readonly meterDeviations: readonly number[];
  readonly strayParts: readonly number[];
  /** whether other loads' current passes the part on its way to a bus */
  readonly isShared: readonly boolean[];
  readonly chassis: number;
  readonly isWire: readonly boolean[];
  /** whether some reading of the source's volts does not say if the engine ran */
  readonly engineInDoubt: boolean;
  /** whether some reading, engine running, hangs on where the block is bonded */
  readonly bondInDoubt: boolean;
}

export function probeOf(job: Job, place: Place): Probe {
  const parts = partsOf(job);
  if (place.quantity === "amps") {
    const first = parts.findIndex((part) => part.id === place.through);
    return { sign: 1, first, last: first + 1, throughLoad: false, clamp: true };
  }
  const route = routeBetween(job, place.from, place.to);
  const first = route.parts.length > 0 ? parts.indexOf(route.parts[0]!) : 0;
  return {
    sign: route.sign,
    first,
    last: first + route.parts.length,
    throughLoad: route.throughLoad,
    clamp: false,
  };
}

/** Whether a probe shows what a part loses: across it, or as what is missing at the load. */
export const sees = ({ clamp, throughLoad, first, last }: Probe, part: number): boolean =>
  !clamp && throughLoad !== (part >= first && part < last);

/** What a meter there would show of a solved circuit, its own errors aside. */
export function shown(
  probe: Probe,
  solution: Pick<CircuitSolution, "partAmps" | "partDropVolts" | "loadVolts">,
): number {
  if (probe.clamp) return solution.partAmps[probe.first]!;
  let volts = probe.throughLoad ? solution.loadVolts : 0;
  for (let i = probe.first; i < probe.last; i++) volts += solution.partDropVolts[i]!;
  return probe.sign * volts;
}

/**
 * @param asked conditions that will be asked about, though no reading was taken in them
 */
export function prepareRound(
  job: Job,
  expected: readonly ExpectedPart[],
  readings: readonly Reading[],
  asked: readonly Condition[],
): RoundSetting {
  const parts = partsOf(job);
  const shared = sharedParts(job);
  const isShared = parts.map((_, index) => shared.includes(index));
  const chassis = parts.findIndex((part) => part.part === "chassis");
  const carriesOthers = (part: number) => isShared[part]! || (chassis >= 0 && part >= chassis);
  const sharedOhms = (probe: Probe) =>
    expected
      .slice(probe.first, probe.last)
      .reduce((sum, part, k) => (carriesOthers(probe.first + k) ? sum + part.ohms : sum), 0);
  const conditions = conditionIndex();
  const meterDeviations: number[] = [];
  const meterPlace = new Map<string, number>();
  const common = (key: string, deviation: number) => {
    if (deviation === 0) return -1;
    const place = meterPlace.get(key) ?? meterDeviations.push(deviation) - 1;
    meterPlace.set(key, place);
    return place;
  };
  const inSession = new Map<string, number>();
  for (const { session } of readings) inSession.set(session, (inSession.get(session) ?? 0) + 1);
  const sagging = saggingNoise(job, readings);
  const prepared = readings.map((reading): PreparedReading => {
    const probe = probeOf(job, reading.place);
    const alone = inSession.get(reading.session) === 1;
    const shift = shiftOf(reading, readings);
    return {
      reading,
      condition: conditions.indexOf(conditionOf(reading)),
      probe,
      gain: common(`gain ${reading.place.quantity} ${reading.meter}`, reading.gain),
      counts: alone ? -1 : common(`counts ${reading.session}`, reading.counts),
      shift,
      starved: starvedBy(reading, readings),
      beyondSound: beyondSound(job, expected, reading, probe),
      farthest: farthestMiss(reading, shift),
      sagging: reading.moment !== null && reading.seesSource ? sagging * saggingShare(reading) : 0,
      noise: Math.hypot(
        reading.noise,
        alone ? reading.counts : 0,
        modelNoise(reading),
        prior.shiftAgain * shift,
        momentNoise(reading, probe.clamp ? Number(isShared[probe.first]) : sharedOhms(probe)),
        isPulsed(job) ? voiceNoise(reading, readings) : 0,
      ),
    };
  });
  for (const condition of asked) conditions.indexOf(condition);
  return {
    job,
    expected,
    prepared,
    conditions: conditions.list,
    meterDeviations,
    strayParts: strayParts(job),
    isShared,
    chassis,
    isWire: parts.map((part) => part.part === "wire"),
    engineInDoubt: readings.some(({ engine, seesSource }) => engine === null && seesSource),
    bondInDoubt: prepared.some(
      ({ reading, probe }) =>
        reading.engine === "running" && chassis >= 0 && probe.last > chassis + 1 && !isAcrossBattery(reading.place),
    ),
  };
}

/** An idle set draws little: what a battery has not yet recovered differs less than what it gives way by. */
const saggingShare = ({ radio }: Reading): number => (radio === "transmit" ? 1 : prior.idleSagShare);

/**
 * How unlike a weak battery finds itself from one keying to the next: the further it gives way, the less it has recovered,
 * and what else hangs on it pulls it down by as many volts for each amp. 0 where it was not read, or does not give way.
 */
function saggingNoise(job: Job, readings: readonly Reading[]): number {
  const volts = (wanted: "idle" | "transmit") =>
    readings
      .filter(({ place, engine, radio }) => isAcrossBattery(place) && engine !== "running" && radio === wanted)
      .map(({ value }) => value);
  const [idle, keyed] = [volts("idle"), volts("transmit")];
  if (idle.length === 0 || keyed.length === 0) return 0;
  const beyond = Math.max(Math.max(...idle) - Math.min(...keyed) - prior.soundSagVolts, 0);
  return beyond * Math.hypot(prior.momentSagShare, prior.momentBatteryAmps / expectedTransmitAmps(job));
}

function shiftOf(reading: Reading, readings: readonly Reading[]): number {
  if (!reading.disturbed) return 0;
  return Math.abs(reading.value - (undisturbed(reading, readings)?.value ?? 0));
}

/** While a contact opens the set draws less, or lets go: what a log of another moment shows of that is another's story. */
function starvedBy(reading: Reading, readings: readonly Reading[]): number {
  if (reading.moment === null || !reading.disturbed || reading.seesSource) return 0;
  const level = undisturbed(reading, readings)?.value ?? reading.value;
  return Math.max(Math.abs(level) - Math.abs(reading.value), 0);
}

/** A contact that comes and goes may have stood either way at another moment, all the time that somebody looked. */
function beyondSound(job: Job, expected: readonly ExpectedPart[], reading: Reading, probe: Probe): number {
  const { moment, disturbed, radio, drawnBy, value, noise } = reading;
  if (moment === null || disturbed || radio !== "transmit" || drawnBy !== "set") return 0;
  if (probe.clamp || probe.throughLoad) return 0;
  const ohms = expected.slice(probe.first, probe.last).reduce((sum, part) => sum + part.ohms, 0);
  const sound = ohms * expectedTransmitAmps(job);
  const beyond = probe.sign * value - sound;
  const { deviations, least } = prior.shiftLimit;
  return beyond > Math.max(deviations * noise, least, sound) ? beyond : 0;
}

/** Keying that nobody saw may not have been; a level that did not move while a contact shifted may lie beside the shift. */
function farthestMiss({ keyingUnseen, disturbed, noise }: Reading, shift: number): number | null {
  if (keyingUnseen) return prior.farthestMiss.keyingUnseen;
  return disturbed && shift < prior.shiftLimit.deviations * noise ? prior.farthestMiss.unmoved : null;
}

/** A voice's current is another in every stretch that a meter takes its level from. */
function voiceNoise(reading: Reading, readings: readonly Reading[]): number {
  if (reading.radio !== "transmit" || reading.drawnBy === "test-load") return 0;
  const idle = readings.find(
    ({ place, engine, radio }) => samePlace(place, reading.place) && engine === reading.engine && radio === "idle",
  );
  const step = idle === undefined ? (reading.seesSource ? 0 : reading.value) : reading.value - idle.value;
  return prior.voiceShare * Math.abs(step);
}

const samePlace = (a: Place, b: Place): boolean =>
  a.quantity === "volts"
    ? b.quantity === "volts" && a.from === b.from && a.to === b.to
    : b.quantity === "amps" && a.through === b.through;

function modelNoise(reading: Reading): number {
  if (reading.place.quantity === "amps") return prior.modelShare * Math.abs(reading.value);
  const antenna = reading.rfInto === "antenna" && reading.radio === "transmit" ? prior.antennaVolts : 0;
  return Math.hypot(prior.modelVolts, reading.seesSource ? 0 : prior.modelShare * reading.value, antenna);
}

/**
 * A reading not taken at the same time as the others meets another battery, another keying, and other loads.
 * @param perOtherAmp what it shows for each amp of other loads in what it shares with them
 */
function momentNoise(reading: Reading, perOtherAmp: number): number {
  if (reading.moment === null) return 0;
  const own = reading.seesSource
    ? prior.momentVolts[reading.engine ?? "off"]
    : prior.momentAmpsShare * Math.abs(reading.value);
  return Math.hypot(own, prior.otherMomentAmps * perOtherAmp);
}
