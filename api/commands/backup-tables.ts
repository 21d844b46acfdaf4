/** What a backup holds of the database: tables in the order in which they are filled again, by the key that pages them. */
import type { Kysely } from "kysely";
import type { Tables } from "../store/tables.ts";

/** Sessions, pairing codes, wrong guesses and diagnoses are not kept: they are made anew. */
export const backupTables = {
  shops: ["id"],
  accounts: ["id"],
  logs: ["shop", "sha256"],
  revisions: ["shop", "job", "revision"],
  // in the order of their revisions, in which the search numbers them
  jobs: ["shop", "revision"],
} as const satisfies Partial<{ [Table in keyof Tables]: readonly (keyof Tables[Table])[] }>;

export type BackupTable = keyof typeof backupTables;

const rowsTogether = 200;

/** All rows of a table, some at a time, in the order of its key. */
export async function* rowsOf(db: Kysely<Tables>, table: BackupTable): AsyncGenerator<Record<string, unknown>[]> {
  for (let offset = 0; ; offset += rowsTogether) {
    let query = db.selectFrom(table).selectAll();
    for (const column of backupTables[table]) query = query.orderBy(column as never);
    const rows = await query.limit(rowsTogether).offset(offset).execute();
    if (rows.length > 0) yield rows as Record<string, unknown>[];
    if (rows.length < rowsTogether) return;
  }
}
