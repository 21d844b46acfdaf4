/**
 * The plateaus of one log by state: what each level of a state is taken from.
 */
import type { EngineState, Job, RadioState } from "../job/job.ts";
import type { Plateau, RecordingStates } from "../state/plateau.ts";
import type { Seconds, Volts } from "../units.ts";
import { keyingDoubt, withoutComingUp } from "./charged-plateaus.ts";

export interface StateGroup {
  readonly engine: EngineState | null;
  readonly radio: RadioState;
  readonly disturbed: boolean;
  readonly plateaus: Plateau[];
  /** how far the level may be off because nobody knows whether the set was keyed; 0 where that is known */
  readonly keyingVolts: Volts;
}

/** Of a log that sees the source. Where keying is not seen once the engine runs, the charging still is: keyed or not, the source stands much alike. */
export function groupsOfSource(
  job: Job,
  sight: "battery" | "load",
  { plateaus: seen, events }: RecordingStates,
): StateGroup[] {
  const plateaus = withoutComingUp(seen, events);
  const groups = groupByState(plateaus);
  const charged = plateaus.filter(
    ({ engine, radio, disturbance }) => engine === "running" && radio === null && disturbance === null,
  );
  if (charged.length === 0 || groups.some(({ engine }) => engine === "running")) return groups;
  const keyingVolts = keyingDoubt(job, plateaus, sight);
  return [...groups, { engine: "running", radio: "idle", disturbed: false, plateaus: charged, keyingVolts }];
}

/** Of a drop or a clamp. */
export const groupsOfDrop = (states: RecordingStates, gapSeconds: Float64Array): StateGroup[] =>
  groupByState(seenPlateaus(states, gapSeconds));

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

/** Gaps here and there are lost values; so many together are a meter over its range. */
const overRangeGaps = 3;
/** How far around a shift gaps are looked for: where the clocks of two logs put it, or how long one mostly lasts. */
const gapReach = { around: 1, after: 4 } as const;
/** A level no further from the undisturbed one is no shift of a contact. */
const unshiftedShare = 0.05;

/**
 * A shift that took the meter over its range shows there only the moments of coming and going, which are no level; nor is
 * what such a log shows undisturbed while another says that the contact had gone.
 */
function seenPlateaus({ plateaus, events }: RecordingStates, gapSeconds: Float64Array): Plateau[] {
  const gapsWithin = (from: Seconds, to: Seconds) => gapSeconds.filter((gap) => gap > from && gap < to).length;
  const { around, after } = gapReach;
  const overRange = events.some(
    ({ kind, seconds }) => kind === "contact-break" && gapsWithin(seconds - around, seconds + after) >= overRangeGaps,
  );
  if (!overRange) return [...plateaus];
  const keyed = plateaus.filter(({ radio, disturbance }) => radio === "transmit" && disturbance === null);
  const isUnshifted = ({ value }: Plateau) =>
    keyed.some((plateau) => Math.abs(plateau.value - value) < unshiftedShare * Math.abs(value));
  return plateaus.filter(
    (plateau) =>
      plateau.disturbance !== "contact-break" ||
      (gapsWithin(plateau.startSeconds - around, plateau.endSeconds + around) < overRangeGaps && !isUnshifted(plateau)),
  );
}
