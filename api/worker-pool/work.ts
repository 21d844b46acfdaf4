/** What passes between the server and its workers. */
import type { ProblemPlace } from "../../analysis/index.ts";

/** A job folder in memory, as a zip or as its files by name, job.json among them. */
export interface DiagnosisWork {
  /** what the diagnosis calls the folder */
  readonly folder: string;
  readonly zip?: Uint8Array;
  readonly files?: readonly (readonly [name: string, bytes: Uint8Array])[];
}

export type WorkResult =
  /** the diagnosis as JSON text, since nobody on the event loop needs to look into it */
  | { readonly diagnosis: string }
  | { readonly problem: { readonly reason: string; readonly place: ProblemPlace } }
  | { readonly failure: string };
