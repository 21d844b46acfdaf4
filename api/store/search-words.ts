/**
 * What a job can be found by: the words of its title, customer, vehicle, load and notes, without case and accents.
 * A search finds the jobs in which each of its words begins some word.
 */
import type { Kysely, Transaction } from "kysely";
import type { Job } from "../../analysis/index.ts";
import type { JobRow, Tables } from "./tables.ts";

/** How one kind of database indexes the words and asks for them. */
export interface JobSearch {
  /** after the job's row was written; without words it is found no more */
  index(change: Transaction<Tables>, row: JobRow): Promise<void>;
  /** jobs of a shop that hold every word, newest first, older than revision `before` */
  find(db: Kysely<Tables>, asked: Asked): Promise<JobRow[]>;
}

export interface Asked {
  readonly shop: string;
  readonly words: readonly string[];
  readonly before: number;
  readonly limit: number;
}

/** Most words of one job that are indexed, and most that one search may ask for. */
const wordsAtMost = 400;
const askedAtMost = 10;

/** @example searchWords("Señal 50 W, orchard-sprayer") // ["senal", "50", "w", "orchard", "sprayer"] */
export function searchWords(text: string): string[] {
  const plain = text.normalize("NFKD").replaceAll(/\p{M}/gu, "").toLowerCase();
  return [...new Set(plain.match(/[\p{L}\p{N}]+/gu) ?? [])].map((word) => word.slice(0, 40));
}

export const askedWords = (text: string): string[] => searchWords(text).slice(0, askedAtMost);

export function wordsOfJob({ title, customer, vehicle, vehicleId, load, notes, technician }: Job): string {
  const text = [title, vehicle, vehicleId, customer, technician, load.label, notes].filter(Boolean).join(" ");
  return searchWords(text).slice(0, wordsAtMost).join(" ");
}
