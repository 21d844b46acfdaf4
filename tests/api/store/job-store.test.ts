/**
 * The contract of the store, held to on every database: revisions, siblings, deletions, the list, the search and the
 * changes feed. No published source: the rules are those of formats.md section 3.
 */
import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type JobStore, jobStore, type NewDocument } from "../../../api/store/job-store.ts";
import { logRecords } from "../../../api/store/log-records.ts";
import { migrate, newestVersion, setFact } from "../../../api/store/migrations.ts";
import { searchWords } from "../../../api/store/search-words.ts";
import { databases, type TestDatabase } from "../../fixtures/databases.ts";

/** PGlite takes 7 s on a quiet machine. */
const createdMilliseconds = 60_000;

const document = (title: string): NewDocument => ({
  text: JSON.stringify({ format: "job/1", title }),
  title,
  words: searchWords(title).join(" "),
});

describe.each(databases)("the store on $name", ({ open }) => {
  let opened: TestDatabase;
  let jobs: JobStore;
  beforeAll(async () => {
    opened = await open();
    jobs = jobStore(opened.database);
  }, createdMilliseconds);
  afterAll(() => opened.end());

  const author = () => ({ shop: randomUUID(), account: null });

  async function created(shop: string, title: string, id: string = randomUUID()) {
    const result = await jobs.keep({ shop, account: null }, id, document(title), "absent");
    if (!result.kept) throw new Error("should have been created");
    return { id, revision: result.revision };
  }

  it("creates once, replaces by revision and gives back what was sent", async () => {
    const who = author();
    const { id, revision } = await created(who.shop, "first");
    expect(await jobs.keep(who, id, document("again"), "absent")).toMatchObject({ kept: false, current: { revision } });
    const replaced = await jobs.keep(who, id, document("second"), [revision]);
    expect(replaced).toMatchObject({ kept: true, created: false });
    expect(await jobs.find(who.shop, id)).toMatchObject({ text: document("second").text });
    expect(await jobs.find(randomUUID(), id)).toBeNull();
  });

  it("keeps what lost the race as a sibling, once, and says where an answer was lost", async () => {
    const who = author();
    const { id, revision: first } = await created(who.shop, "base");
    const won = await jobs.keep(who, id, document("mine"), [first]);
    const lost = await jobs.keep(who, id, document("theirs"), [first]);
    const again = await jobs.keep(who, id, document("theirs"), [first]);
    if (lost.kept || !lost.sibling || again.kept) throw new Error("should have lost");
    expect(lost.sibling.inLine).toBe(false);
    expect(again.sibling).toEqual(lost.sibling);
    expect(await jobs.findRevision(who.shop, id, lost.sibling.revision)).toMatchObject({
      text: document("theirs").text,
    });
    const repeated = await jobs.keep(who, id, document("mine"), [first]);
    expect(repeated).toMatchObject({ kept: false, sibling: { inLine: true, revision: won.kept && won.revision } });
    expect((await jobs.revisions(who.shop, id)).map(({ sibling }) => sibling)).toEqual([true, false, false]);
  });

  it("does not take a return to an older wording for a lost answer", async () => {
    const who = author();
    const { id, revision: a } = await created(who.shop, "A");
    const b = await jobs.keep(who, id, document("B"), [a]);
    if (!b.kept) throw new Error("should be kept");
    await jobs.keep(who, id, document("C"), [b.revision]);
    expect(await jobs.keep(who, id, document("A"), [b.revision])).toMatchObject({ sibling: { inLine: false } });
  });

  it("deletes by revision, lets nothing follow a deletion but a creation, and keeps what came too late", async () => {
    const who = author();
    const { id, revision } = await created(who.shop, "to go");
    expect(await jobs.remove(who, id, [revision + 1])).toMatchObject({ kept: false });
    const gone = await jobs.remove(who, id, [revision]);
    expect(gone).toMatchObject({ kept: true });
    expect(await jobs.find(who.shop, id)).toBeNull();
    expect(await jobs.remove(who, id, [revision])).toBeNull();
    const late = await jobs.keep(who, id, document("late"), [revision]);
    expect(late).toMatchObject({ kept: false, current: { deleted: true }, sibling: { inLine: false } });
    expect(await jobs.keep(who, id, document("back"), "absent")).toMatchObject({ kept: true, created: true });
    expect(await jobs.list(who.shop, 10)).toHaveLength(1);
  });

  it("refuses to replace what never was, and keeps nothing of it", async () => {
    const who = author();
    expect(await jobs.keep(who, randomUUID(), document("x"), [3])).toEqual({
      kept: false,
      current: null,
      sibling: null,
    });
  });

  it("lists the last changed first, page by page, and finds by the beginnings of words", async () => {
    const { shop } = author();
    const titles = [
      "Orchard sprayer, VHF",
      "Señal harbour workboat",
      "Orchard lift 12 V",
      "Öl pump",
      "o'brien -- test",
    ];
    for (const title of titles) await created(shop, title);
    const first = await jobs.list(shop, 3);
    const second = await jobs.list(shop, 3, "", first.at(-1)!.revision);
    expect([...first, ...second].map(({ title }) => title)).toEqual(titles.toReversed());
    const found = async (query: string) => (await jobs.list(shop, 9, query)).map(({ title }) => title);
    expect(await found("ORCH")).toEqual([titles[2], titles[0]]);
    expect(await found("vhf orch")).toEqual([titles[0]]);
    expect(await found("senal")).toEqual([titles[1]]);
    expect(await found("ol")).toEqual([titles[3]]);
    expect(await found("chard")).toEqual([]);
    expect(await found("'\"*:&|!()")).toEqual([]);
    expect(await found("  ")).toHaveLength(5);
    expect(await jobs.list(shop, 1, "orch", first[0]!.revision)).toMatchObject([{ title: titles[2] }]);
    expect(await jobs.list(randomUUID(), 9, "orch")).toEqual([]);
  });

  it("finds a job by its new words and no longer by its old ones", async () => {
    const { shop } = author();
    const { id, revision } = await created(shop, "quarry dumper");
    await jobs.keep({ shop, account: null }, id, document("peat cutter"), [revision]);
    expect(await jobs.list(shop, 9, "quarry")).toEqual([]);
    expect(await jobs.list(shop, 9, "peat")).toHaveLength(1);
  });

  it("keeps logs to the shop that sent them", async () => {
    const logs = logRecords(opened.database);
    const { shop } = author();
    await logs.record(shop, "ab", 12);
    await logs.record(shop, "ab", 12);
    expect(await logs.bytes(shop, "ab")).toBe(12);
    expect(await logs.bytes(randomUUID(), "ab")).toBeNull();
  });

  it("feeds every change to a follower that reads while eight writers write, skipping none", async () => {
    const { shop } = author();
    const ids = Array.from({ length: 12 }, () => randomUUID());
    const seen = new Map<string, number>();
    let cursor = 0;
    let writing = true;
    const follow = async () => {
      for (const change of await jobs.changes(shop, cursor, 5)) {
        expect(change.revision).toBeGreaterThan(cursor);
        cursor = change.revision;
        seen.set(change.id, change.revision);
      }
    };
    const follower = (async () => {
      while (writing) {
        await follow();
        await new Promise((resolve) => setTimeout(resolve, 1));
      }
    })();
    await Promise.all(Array.from({ length: 8 }, (_, writer) => writeAtWill(shop, ids, writer)));
    writing = false;
    await follower;
    for (let before = -1; before !== cursor; ) {
      before = cursor;
      await follow();
    }
    const stands = await jobs.changes(shop, 0, 100);
    expect(Object.fromEntries(seen)).toEqual(Object.fromEntries(stands.map(({ id, revision }) => [id, revision])));
  });

  async function writeAtWill(shop: string, ids: readonly string[], writer: number): Promise<void> {
    for (let turn = 0; turn < 15; turn++) {
      const id = ids[(turn * 7 + writer * 5) % ids.length]!;
      const stands = await jobs.currentRevision(shop, id);
      const who = { shop, account: null };
      if (stands && !stands.deleted && (turn + writer) % 5 === 0) await jobs.remove(who, id, [stands.revision]);
      else {
        const expected = !stands || stands.deleted ? "absent" : [stands.revision];
        await jobs.keep(who, id, document(`${writer} ${turn}`), expected);
      }
    }
  }

  it("lets no later revision be committed while an earlier one is not", async () => {
    const { shop } = author();
    await created(shop, "before");
    const done: string[] = [];
    let holds: () => void = () => {};
    const held = new Promise<void>((resolve) => {
      holds = resolve;
    });
    const slow = opened.database.write(async (change) => {
      const next = change.updateTable("shops").set((row) => ({ last_revision: row("last_revision", "+", 1) }));
      await next.where("id", "=", shop).execute();
      holds();
      await new Promise((later) => setTimeout(later, 100));
      done.push("earlier");
    });
    await held;
    await created(shop, "later");
    done.push("later");
    await slow;
    expect(done).toEqual(["earlier", "later"]);
  });

  it("of twenty who replace the same revision at once, one wins and nineteen are siblings", async () => {
    const who = author();
    const { id, revision } = await created(who.shop, "wanted");
    const results = await Promise.all(
      Array.from({ length: 20 }, (_, n) => jobs.keep(who, id, document(`try ${n}`), [revision])),
    );
    expect(results.filter(({ kept }) => kept)).toHaveLength(1);
    expect((await jobs.revisions(who.shop, id)).filter(({ sibling }) => sibling)).toHaveLength(19);
  });

  it("starts again on what it wrote, and refuses what a newer program wrote", async () => {
    const { db, kind } = opened.database;
    await migrate(db, kind);
    await setFact(db, "version", String(newestVersion + 1));
    const words = `version ${newestVersion} or older.* of version ${newestVersion + 1}`;
    await expect(migrate(db, kind)).rejects.toThrow(new RegExp(words));
    await setFact(db, "version", String(newestVersion));
  });
});
