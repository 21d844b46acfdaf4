/**
 * A plateau: a stretch of one log in one state, with its level.
 */
import type { EngineState, RadioState } from "../job/job.ts";
import type { Seconds } from "../units.ts";

export interface Plateau {
  /** on this log's own clock, seconds since its first sample */
  readonly startSeconds: Seconds;
  readonly endSeconds: Seconds;
  /** null: the evidence is too thin to say */
  readonly engine: EngineState | null;
  readonly radio: RadioState | null;
  /** level in volts or amps, settling edges cut off */
  readonly value: number;
  /** standard uncertainty of the level from noise and quantisation alone, autocorrelation allowed for */
  readonly uncertainty: number;
  readonly samples: number;
  /** change of the level from start to end of the plateau, in its unit; 0 where none can be seen */
  readonly drift: number;
  /** a level of its own while the key is held: the load let go, or a contact opened or shifted */
  readonly disturbance: "load-reset" | "contact-break" | null;
}

export type EventKind = "keyed" | "released" | "engine-start" | "engine-stop" | "load-reset" | "contact-break";

export interface LogEvent {
  readonly kind: EventKind;
  /** on this log's own clock, seconds since its first sample */
  readonly seconds: Seconds;
  /** engine-start: the lowest volts while cranking; load-reset: the load's volts at which it let go */
  readonly lowestVolts?: number;
}

/** One recording of a round after its states have been found. */
export interface RecordingStates {
  readonly plateaus: readonly Plateau[];
  readonly events: readonly LogEvent[];
  /** this log's clock minus the first log's; null where it could not be aligned (why: in warnings) */
  readonly offsetSeconds: Seconds | null;
  readonly offsetUncertaintySeconds: Seconds | null;
  readonly driftPpm: number | null;
  readonly warnings: readonly string[];
}
