/** Searching in SQLite: a full-text index whose rows are numbered in the order of the revisions, so that the newest come first by themselves. */
import { sql } from "kysely";
import type { JobSearch } from "./search-words.ts";
import type { JobRow } from "./tables.ts";

export const sqliteSearch: JobSearch = {
  async index(change, { shop, id, words }) {
    const old = await sql<{ place: number }>`
      delete from job_word_rows where shop = ${shop} and job = ${id} returning place`.execute(change);
    for (const { place } of old.rows) await sql`delete from job_words where rowid = ${place}`.execute(change);
    if (words === "") return;
    const { rows } = await sql<{ place: number }>`
      insert into job_word_rows (shop, job) values (${shop}, ${id}) returning place`.execute(change);
    await sql`insert into job_words (rowid, words) values (${rows[0]!.place}, ${words})`.execute(change);
  },

  // cross joins keep the order written: the index first, its newest rows first, and no more rows than are asked for
  async find(db, { shop, words, before, limit }) {
    const every = words.map((word) => `"${word}"*`).join(" ");
    const { rows } = await sql<JobRow>`
      select jobs.* from job_words
      cross join job_word_rows on job_word_rows.place = job_words.rowid
      cross join jobs on jobs.shop = job_word_rows.shop and jobs.id = job_word_rows.job
      where job_words match ${every} and job_word_rows.shop = ${shop} and jobs.revision < ${before}
        and job_words.rowid <= (
          select place from jobs as older
          cross join job_word_rows as numbered on numbered.shop = older.shop and numbered.job = older.id
          where older.shop = ${shop} and older.revision < ${before}
          order by older.revision desc limit 1)
      order by job_words.rowid desc limit ${limit}`.execute(db);
    return rows;
  },
};
