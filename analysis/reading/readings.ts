/**
 * The readings of a round: a level for each recording and state, and each value typed from a display,
 * with the doubt of meter and noise. Goes in: the job as it was in that round, its logs and their states.
 */
import type { EngineState, Job, Recording, TypedReading } from "../job/job.ts";
import { routeBetween } from "../job/route.ts";
import type { LogReading } from "../log/sample.ts";
import type { Plateau, RecordingStates } from "../state/plateau.ts";
import type { Seconds } from "../units.ts";
import { levelOf } from "./level.ts";
import { meterDoubt, quantisation } from "./meter-accuracy.ts";
import { isAcrossBattery, type Place, type Reading } from "./reading.ts";
import { groupsOfDrop, groupsOfSource } from "./state-groups.ts";

export interface LoggedRecording {
  readonly recording: Recording;
  readonly log: LogReading;
  readonly states: RecordingStates;
}

/** All readings of a round, recordings first, in the order of the job. */
export function readingsOf(job: Job, logged: readonly LoggedRecording[], typed: readonly TypedReading[]): Reading[] {
  const seen = logged.flatMap((entry) => readingsOfLog(job, entry));
  const keyed = seen.some(({ radio }) => radio === "transmit");
  const fromLogs = keyed ? [...seen, ...logged.flatMap((entry) => flatDrop(job, entry))] : seen;
  const spokenFor = (entry: TypedReading) =>
    fromLogs.some(({ session, radio, engine }) => {
      const same = session === entry.log && radio === entry.radio;
      return same && (engine === null || entry.engine === undefined || engine === entry.engine);
    });
  return withCommonEngine([
    ...fromLogs,
    ...typed.flatMap((entry, index) => (spokenFor(entry) ? [] : readingOfTyped(job, entry, index))),
  ]);
}

/**
 * Logs taken together share one engine: where all that know it say the same, so do those that cannot know (drops, a clamp).
 * A log that knows it elsewhere is in doubt where it does not.
 */
function withCommonEngine(readings: readonly Reading[]): Reading[] {
  const together = readings.filter(({ moment, engine }) => moment === null && engine !== null);
  const known = new Set(together.map(({ engine }) => engine));
  if (known.size !== 1) return [...readings];
  const [engine] = known as Set<EngineState>;
  const knowing = new Set(together.map(({ session }) => session));
  return readings.map((reading) =>
    reading.moment === null && reading.engine === null && !knowing.has(reading.session)
      ? { ...reading, engine: engine! }
      : reading,
  );
}

function readingsOfLog(job: Job, entry: LoggedRecording): Reading[] {
  const { recording, log, states } = entry;
  const place = placeOf(recording, recording.quantity);
  const groups = seesSource(job, place)
    ? groupsOfSource(job, isAcrossBattery(place) ? "battery" : "load", states)
    : groupsOfDrop(states, log.samples.gapSeconds);
  const common = readingOfLog(job, entry);
  const { resolution } = doubtOf(job, entry);
  return groups.map(({ engine, radio, disturbed, plateaus, keyingVolts }) => {
    const { value, uncertainty } = levelOf(plateaus, resolution);
    const counting = quantisation(log.samples.resolution) / Math.sqrt(plateaus.length);
    const noise = Math.hypot(uncertainty, counting, keyingVolts);
    return { ...common, engine, radio, disturbed, value, noise, ...extentOf(plateaus) };
  });
}

/** Shorter than this nobody keys and lets go; common practice. */
const leastFlatSeconds: Seconds = 6;
/** A step that stayed unseen in a log is no larger than so many of its level's doubts. */
const unseenStep = 5;

/**
 * A drop log in which nothing steps was taken to see the set keyed, as the others were: then it loses no more keyed than
 * it does idle. A clamp would have shown it.
 */
function flatDrop(job: Job, entry: LoggedRecording): Reading[] {
  const { recording, log, states } = entry;
  const { plateaus } = states;
  const place = placeOf(recording, recording.quantity);
  const seconds = (plateaus.at(-1)?.endSeconds ?? 0) - (plateaus[0]?.startSeconds ?? 0);
  const isFlat = plateaus.every(({ radio, disturbance }) => radio === null && disturbance === null);
  if (place.quantity !== "volts" || seesSource(job, place) || !isFlat || seconds < leastFlatSeconds) return [];
  const { value, uncertainty } = levelOf(plateaus, doubtOf(job, entry).resolution);
  const noise = Math.hypot(unseenStep * uncertainty, log.samples.resolution);
  return [
    {
      ...readingOfLog(job, entry),
      engine: null,
      radio: "transmit",
      value,
      noise,
      ...extentOf(plateaus),
      keyingUnseen: true,
    },
  ];
}

const extentOf = (plateaus: readonly Plateau[]) => ({
  seconds: plateaus.reduce((sum, { startSeconds, endSeconds }) => sum + endSeconds - startSeconds, 0),
  times: plateaus.length,
});

const doubtOf = (job: Job, { recording, log }: LoggedRecording) =>
  meterDoubt(job, recording.meter, recording.quantity, log.samples.resolution);

/** What all readings of one log have in common. */
function readingOfLog(
  job: Job,
  entry: LoggedRecording,
): Omit<Reading, "engine" | "radio" | "value" | "noise" | "seconds" | "times"> {
  const { recording } = entry;
  const doubt = doubtOf(job, entry);
  const place = placeOf(recording, recording.quantity);
  return {
    source: sourceOf(recording),
    place,
    meter: recording.meter ?? recording.file,
    gain: doubt.gain,
    counts: doubt.counts,
    session: sourceOf(recording),
    moment: recording.concurrent === false ? sourceOf(recording) : null,
    held: null,
    drawnBy: recording.drawnBy ?? "set",
    rfInto: recording.rfInto ?? null,
    bypassed: recording.bypassed ?? [],
    logged: true,
    seesSource: seesSource(job, place),
    disturbed: false,
    keyingUnseen: false,
  };
}

const sourceOf = ({ file, column }: Recording): string => (column === undefined ? file : `${file}, column ${column}`);

/** A typed value without a radio state cannot be placed: it is kept in the job and left out here. */
function readingOfTyped(job: Job, typed: TypedReading, index: number): Reading[] {
  const quantity = typed.volts === undefined ? "amps" : "volts";
  const value = typed.volts ?? typed.amps;
  if (value === undefined || typed.radio === undefined) return [];
  const resolution = writtenResolution(value);
  const doubt = meterDoubt(job, typed.meter, quantity, resolution);
  const source = `typed reading ${index + 1}`;
  const place = placeOf(typed, quantity);
  return [
    {
      source,
      place,
      engine: typed.engine ?? null,
      radio: typed.radio,
      value,
      noise: quantisation(doubt.resolution),
      meter: typed.meter ?? source,
      gain: doubt.gain,
      counts: doubt.counts,
      session: source,
      moment: source,
      held: typed.held ?? null,
      drawnBy: typed.drawnBy ?? "set",
      rfInto: typed.rfInto ?? null,
      bypassed: typed.bypassed ?? [],
      logged: false,
      seesSource: seesSource(job, place),
      disturbed: false,
      seconds: 0,
      times: 0,
      keyingUnseen: false,
    },
  ];
}

type Measured = Pick<Recording, "from" | "to" | "through">;

function placeOf(measured: Measured, quantity: "volts" | "amps"): Place {
  return quantity === "volts"
    ? { quantity, from: measured.from!, to: measured.to! }
    : { quantity, through: measured.through! };
}

function seesSource(job: Job, place: Place): boolean {
  return place.quantity === "volts" && routeBetween(job, place.from, place.to).throughLoad;
}

/** The last written digit of a number: 0.01 for 12.4 read as two decimals or fewer on a display of hundredths. */
function writtenResolution(value: number): number {
  const decimals = String(value).split(".")[1]?.length ?? 0;
  return 10 ** -Math.max(decimals, 2);
}
