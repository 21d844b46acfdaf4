/**
 * An open database, whichever of the two it is: the queries are the same, and what differs is here by name.
 */
import type { Kysely, Transaction } from "kysely";
import type { JobSearch } from "./search-words.ts";
import type { Tables } from "./tables.ts";

export interface Database {
  readonly kind: "sqlite" | "postgres";
  readonly db: Kysely<Tables>;
  readonly search: JobSearch;
  /** runs `work` as one transaction: all of it is safe on disk when the promise is fulfilled, or none of it happened */
  write<Result>(work: (change: Transaction<Tables>) => Promise<Result>): Promise<Result>;
  /** runs `work` over one moment of the store, however long it takes; writers are not held up */
  snapshot<Result>(work: (db: Kysely<Tables>) => Promise<Result>): Promise<Result>;
  close(): Promise<void>;
}
