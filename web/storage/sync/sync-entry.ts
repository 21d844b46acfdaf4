/** What this device remembers of a job's life on the server. */
export interface SyncEntry {
  readonly id: string;
  /** revision on the server that `base` is; null: never sent */
  readonly revision: number | null;
  /** the job there as this device last knew it, as it travels; null: not there */
  readonly base: string | null;
  /** what stands there and meets what was changed here; null: no conflict */
  readonly theirs: Theirs | null;
  /** why the server does not take what is here, in its own words */
  readonly trouble: string | null;
}

export interface Theirs {
  readonly revision: number;
  /** null: deleted there */
  readonly text: string | null;
}

export const freshEntry = (id: string): SyncEntry => ({ id, revision: null, base: null, theirs: null, trouble: null });

export type SyncState = "kept-here" | "waiting" | "sent" | "conflict" | "refused";

/** @param mine the job here as it travels; null: deleted here */
export function stateOf(entry: SyncEntry | undefined, mine: string | null): SyncState {
  if (!entry || (entry.revision === null && entry.trouble === null)) return "kept-here";
  if (entry.theirs) return "conflict";
  if (entry.trouble !== null) return "refused";
  return entry.base === mine ? "sent" : "waiting";
}
