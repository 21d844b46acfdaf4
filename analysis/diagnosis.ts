/**
 * The diagnosis as `formats.md` section 2 fixes it: what every door of the program gives out.
 */
import type { EngineState, RadioState } from "./job/job.ts";
import type { LogEvent } from "./state/plateau.ts";
import type { UncertainQuantity } from "./uncertain.ts";

/** null: cannot be had from the data */
export type Q = UncertainQuantity | null;

export const causes = [
  "high-resistance-connection",
  "intermittent-connection",
  "undersized-run",
  "conductor-not-as-declared",
  "weak-battery",
  "low-charge",
  "no-charging",
  "overcharging",
  "excess-load-current",
  "stray-return",
  "supply-sound",
] as const;
export type Cause = (typeof causes)[number];

export type Verdict = "fault" | "marginal" | "sound" | "undecided";
export type Leg = "supply" | "return";

export interface PlateauEntry {
  readonly startSeconds: number;
  readonly endSeconds: number;
  readonly engine: EngineState | null;
  readonly radio: RadioState | null;
  readonly value: number;
  readonly uncertainty: number;
}

export interface RecordingEntry {
  readonly file: string;
  readonly column: string | number;
  readonly samples: number;
  readonly blindBelowSeconds: number | null;
  readonly rejectedRows: number;
  readonly warnings: readonly string[];
  readonly offsetSeconds: number | null;
  readonly offsetUncertaintySeconds: number | null;
  readonly driftPpm: number | null;
  readonly plateaus: readonly PlateauEntry[];
  readonly events: readonly LogEvent[];
}

export interface StateEntry {
  readonly engine: EngineState;
  readonly radio: RadioState;
  readonly amps: Q;
  readonly batteryVolts: Q;
  readonly loadVolts: Q;
  readonly supplyDropVolts: Q;
  readonly returnDropVolts: Q;
}

export interface PartEntry {
  readonly id: string;
  readonly leg: Leg;
  readonly expectedOhms: Q;
  readonly ohms: Q;
  readonly dropVolts: Q;
  readonly faultProbability: number;
}

export interface Finding {
  readonly cause: Cause;
  readonly parts: readonly string[];
  readonly probability: number;
  readonly dropVolts: number | null;
  readonly summary: string;
  readonly evidence: readonly string[];
  readonly repair: string;
  readonly afterRepair: { readonly loadVolts: Q };
}

export interface NextReading {
  readonly from?: string;
  readonly to?: string;
  readonly through?: string;
  readonly engine: EngineState;
  readonly radio: RadioState;
  readonly bypassed?: readonly string[];
  readonly drawnBy?: "set" | "test-load";
  readonly bits: number;
  readonly why: string;
}

export interface ProtectionCheck {
  readonly part: string;
  readonly check: string;
  readonly pass: boolean | null;
  readonly detail: string;
  readonly source: string;
}

export interface ReadingNeeded {
  readonly from: string;
  readonly to: string;
  readonly engine: EngineState;
  readonly radio: RadioState;
}

export interface RoundDiagnosis {
  readonly round: string;
  readonly verdict: Verdict;
  readonly recordings: readonly RecordingEntry[];
  readonly states: readonly StateEntry[];
  readonly source: { readonly openCircuitVolts: Q; readonly ohms: Q; readonly runningVolts: Q };
  readonly parts: readonly PartEntry[];
  readonly findings: readonly Finding[];
  readonly nextReadings: readonly NextReading[];
  readonly worstCase: { readonly loadVolts: Q; readonly marginVolts: Q; readonly conditions: string };
  readonly protection: readonly ProtectionCheck[];
  readonly verification: {
    readonly readingsTaken: readonly ReadingNeeded[];
    readonly readingsMissing: readonly ReadingNeeded[];
    readonly passed: boolean | null;
  };
  readonly warnings: readonly string[];
}

export interface PartChange {
  readonly id: string;
  readonly ohmsBefore: Q;
  readonly ohmsAfter: Q;
  /** probability that the part's ohms have changed */
  readonly changeIsReal: number;
}

export interface Comparison {
  readonly from: string;
  readonly to: string;
  readonly loadVoltsGained: Q;
  readonly parts: readonly PartChange[];
  /** null: cannot tell */
  readonly repairHeld: boolean | null;
}

export interface Diagnosis {
  readonly format: "diagnosis/1";
  readonly folder: string;
  readonly title: string;
  readonly rounds: readonly RoundDiagnosis[];
  readonly comparison: Comparison | null;
}
