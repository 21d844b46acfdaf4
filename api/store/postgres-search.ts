/** Searching in PostgreSQL: an index over each job's words, asked for words that begin so. */
import { sql } from "kysely";
import type { JobSearch } from "./search-words.ts";
import type { JobRow } from "./tables.ts";

export const postgresSearch: JobSearch = {
  // the index follows the row by itself
  async index() {},

  async find(db, { shop, words, before, limit }) {
    const every = words.map((word) => `'${word}':*`).join(" & ");
    const { rows } = await sql<JobRow>`
      select * from jobs
      where array_to_tsvector(string_to_array(words, ' ')) @@ ${every}::tsquery and words <> ''
        and shop = ${shop} and deleted = 0 and revision < ${before}
      order by revision desc limit ${limit}`.execute(db);
    return rows;
  },
};
