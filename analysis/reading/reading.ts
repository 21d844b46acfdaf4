/**
 * A reading: one value with its uncertainty between two points, or through one part, in one state.
 * Goes in: plateaus of logs and values typed from a display. Comes out: what the inference stands on.
 */
import type { EngineState, RadioState } from "../job/job.ts";
import type { Seconds } from "../units.ts";

/** Where the probes were: a voltage is V(from) − V(to); a clamp sits on a part. */
export type Place =
  | { readonly quantity: "volts"; readonly from: string; readonly to: string }
  | { readonly quantity: "amps"; readonly through: string };

export const isAcrossBattery = (place: Place): boolean =>
  place.quantity === "volts" && place.from === "battery+" && place.to === "battery-";

export interface Reading {
  /** what is said of it in evidence: file name or 'typed reading 3' */
  readonly source: string;
  readonly place: Place;
  /** null: not known */
  readonly engine: EngineState | null;
  readonly radio: RadioState;
  /** SI */
  readonly value: number;
  /** standard uncertainty from noise, quantisation and the spread between transmissions */
  readonly noise: number;
  /** meter id: its gain error is common to all its readings of one quantity */
  readonly meter: string;
  /** standard uncertainty of the gain, relative (percent of reading / 100 / √3) */
  readonly gain: number;
  /** standard uncertainty of the counts part, in SI; common to all readings that share `session` */
  readonly counts: number;
  /** readings of one recording share their counts error; each typed reading has its own */
  readonly session: string;
  /** null: taken together with the round's other logs, at the same battery volts and current; else a moment of its own */
  readonly moment: string | null;
  readonly held: "lowest" | "highest" | null;
  readonly drawnBy: "set" | "test-load";
  readonly rfInto: "dummy-load" | "antenna" | null;
  readonly bypassed: readonly string[];
  /** the level of a log, not a value typed from a display */
  readonly logged: boolean;
  /** whether the source's own volts are in it: it spans the load or the battery */
  readonly seesSource: boolean;
  /** taken while a contact had opened or shifted */
  readonly disturbed: boolean;
  /** how long a log shows that level, and in how many stretches; 0 where it is no log's */
  readonly seconds: Seconds;
  readonly times: number;
  /** nothing in the log shows that the set was keyed; it is taken to have been, as in the round's others */
  readonly keyingUnseen: boolean;
}
