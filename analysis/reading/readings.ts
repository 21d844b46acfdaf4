/**
 * The readings of a round: a level for each recording and state, and each value typed from a display,
 * with the doubt of meter and noise. Goes in: the job as it was in that round, its logs and their states.
 */
import type { EngineState, Job, RadioState, Recording, TypedReading } from "../job/job.ts";
import { routeBetween } from "../job/route.ts";
import type { LogReading } from "../log/sample.ts";
import type { LogEvent, Plateau, RecordingStates } from "../state/plateau.ts";
import type { Volts } from "../units.ts";
import { keyingDoubt, withoutComingUp } from "./charged-plateaus.ts";
import { levelOf } from "./level.ts";
import { meterDoubt, quantisation } from "./meter-accuracy.ts";
import { isAcrossBattery, type Place, type Reading } from "./reading.ts";

export interface LoggedRecording {
  readonly recording: Recording;
  readonly log: LogReading;
  readonly states: RecordingStates;
}

/** All readings of a round, recordings first, in the order of the job. */
export function readingsOf(job: Job, logged: readonly LoggedRecording[], typed: readonly TypedReading[]): Reading[] {
  const fromLogs = logged.flatMap((entry) => readingsOfLog(job, entry));
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

function readingsOfLog(job: Job, { recording, log, states }: LoggedRecording): Reading[] {
  const { quantity } = recording;
  const doubt = meterDoubt(job, recording.meter, quantity, log.samples.resolution);
  const place = placeOf(recording, quantity);
  const groups = seesSource(job, place)
    ? groupsOfSource(job, place, states.plateaus, states.events)
    : groupByState(seenPlateaus(states.plateaus, log.samples.gapSeconds));
  return groups.map(({ engine, radio, disturbed, plateaus, keyingVolts }) => {
    const level = levelOf(plateaus, doubt.resolution);
    return {
      source: sourceOf(recording),
      place,
      engine,
      radio,
      value: level.value,
      noise: Math.hypot(
        level.uncertainty,
        quantisation(log.samples.resolution) / Math.sqrt(plateaus.length),
        keyingVolts,
      ),
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
      disturbed,
    };
  });
}

/** Gaps here and there are lost values; so many together are a meter over its range. */
const overRangeGaps = 3;

/** A shift that took the meter over its range shows there only the moments of coming and going, which are no level. */
function seenPlateaus(plateaus: readonly Plateau[], gapSeconds: Float64Array): Plateau[] {
  const reach = 1;
  return plateaus.filter(
    ({ disturbance, startSeconds, endSeconds }) =>
      disturbance !== "contact-break" ||
      gapSeconds.filter((gap) => gap > startSeconds - reach && gap < endSeconds + reach).length < overRangeGaps,
  );
}

const sourceOf = ({ file, column }: Recording): string => (column === undefined ? file : `${file}, column ${column}`);

interface StateGroup {
  readonly engine: EngineState | null;
  readonly radio: RadioState;
  readonly disturbed: boolean;
  readonly plateaus: Plateau[];
  /** how far the level may be off because nobody knows whether the set was keyed; 0 where that is known */
  readonly keyingVolts: Volts;
}

/** Where keying is not seen once the engine runs, the charging still is: keyed or not, the source stands much alike. */
function groupsOfSource(job: Job, place: Place, seen: readonly Plateau[], events: readonly LogEvent[]): StateGroup[] {
  const plateaus = withoutComingUp(seen, events);
  const groups = groupByState(plateaus);
  const charged = plateaus.filter(
    ({ engine, radio, disturbance }) => engine === "running" && radio === null && disturbance === null,
  );
  if (charged.length === 0 || groups.some(({ engine }) => engine === "running")) return groups;
  const sight = isAcrossBattery(place) ? "battery" : "load";
  const keyingVolts = keyingDoubt(job, plateaus, sight);
  return [...groups, { engine: "running", radio: "idle", disturbed: false, plateaus: charged, keyingVolts }];
}

/** Plateaus by state; those whose radio is undecided, or in which the load had let go, are no level of any state. */
function groupByState(plateaus: readonly Plateau[]): StateGroup[] {
  const groups = new Map<string, StateGroup>();
  for (const plateau of plateaus) {
    if (plateau.radio === null || plateau.disturbance === "load-reset") continue;
    const disturbed = plateau.disturbance === "contact-break";
    const key = `${plateau.engine} ${plateau.radio} ${disturbed}`;
    const group = groups.get(key) ?? {
      engine: plateau.engine,
      radio: plateau.radio,
      disturbed,
      plateaus: [],
      keyingVolts: 0,
    };
    groups.set(key, group);
    group.plateaus.push(plateau);
  }
  return [...groups.values()];
}

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
