/**
 * Searching in PostgreSQL. A word that many jobs have is found among the newest of them by looking; one that few have,
 * by an index over each job's words. The database cannot know how rare the beginning of a word is and would choose
 * badly, so both are asked for by name, the looking first.
 */
import { type Kysely, sql } from "kysely";
import type { Asked, JobSearch } from "./search-words.ts";
import type { JobRow, Tables } from "./tables.ts";

/** Jobs that are looked through at first, and where a page is likely to be found in so many more: a few milliseconds. */
const lookedThrough = { first: 2_000, again: 20_000 } as const;

export const postgresSearch: JobSearch = {
  // the index follows the row by itself
  async index() {},

  async find(db, asked) {
    const newest = await amongNewest(db, asked, lookedThrough.first);
    if (newest.length >= asked.limit) return newest;
    // a page found at this rate ends well before the second look does
    const often = newest.length * lookedThrough.again > 2 * asked.limit * lookedThrough.first;
    const more = often ? await amongNewest(db, asked, lookedThrough.again) : [];
    return more.length >= asked.limit ? more : byIndex(db, asked);
  },
};

async function amongNewest(
  db: Kysely<Tables>,
  { shop, words, before, limit }: Asked,
  count: number,
): Promise<JobRow[]> {
  // words are letters and digits alone: nothing in them means something to LIKE
  const every = sql.join(
    words.map((word) => sql`(' ' || words) like ${`% ${word}%`}`),
    sql` and `,
  );
  const { rows } = await sql<JobRow>`
    select * from (
      select * from jobs where shop = ${shop} and deleted = 0 and revision < ${before}
      order by revision desc limit ${count}) as newest
    where ${every} order by revision desc limit ${limit}`.execute(db);
  return rows;
}

function byIndex(db: Kysely<Tables>, { shop, words, before, limit }: Asked): Promise<JobRow[]> {
  const every = words.map((word) => `'${word}':*`).join(" & ");
  return db.transaction().execute(async (look) => {
    await sql`select set_config('enable_seqscan', 'off', true), set_config('enable_indexscan', 'off', true)`.execute(
      look,
    );
    const { rows } = await sql<JobRow>`
      select * from jobs
      where array_to_tsvector(string_to_array(words, ' ')) @@ ${every}::tsquery and words <> ''
        and shop = ${shop} and deleted = 0 and revision < ${before}
      order by revision desc limit ${limit}`.execute(look);
    return rows;
  });
}
