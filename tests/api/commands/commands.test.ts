/** Backup, restore, verify-store, export and import, on every database. */
import { execFileSync } from "node:child_process";
import { randomUUID } from "node:crypto";
import { mkdtempSync, readFileSync, rmSync, statSync, truncateSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { diagnoseFiles } from "../../../analysis/index.ts";
import { backup } from "../../../api/commands/backup.ts";
import { exportJob } from "../../../api/commands/export-job.ts";
import { importFolder } from "../../../api/commands/import-folder.ts";
import { pairPhone } from "../../../api/commands/pair-phone.ts";
import { restore } from "../../../api/commands/restore.ts";
import { verifyStore } from "../../../api/commands/verify-store.ts";
import { diagnoseFolder } from "../../../api/diagnose-folder.ts";
import { newDocument } from "../../../api/kept-document.ts";
import { fileLogStore } from "../../../api/log-store/file-log-store.ts";
import { type Services, servicesOver } from "../../../api/services.ts";
import { openSqlite } from "../../../api/store/sqlite.ts";
import { quickDatabases, type TestDatabase } from "../../fixtures/databases.ts";
import { sampleFiles, smallJob } from "../../fixtures/kept-app.ts";

const sample = join(import.meta.dirname, "../../../sample-logs/orchard-sprayer-ground-stud");
const logsOfSample = sampleFiles("orchard-sprayer-ground-stud").size - 1;
const author = { shop: "own", account: null };

describe.each(quickDatabases)("the commands on $name", ({ open }) => {
  let folder: string;
  let opened: TestDatabase;
  let services: Services;
  let imported: string;
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), "commands-"));
    opened = await open();
    services = servicesOver(opened.database, await fileLogStore(join(folder, "logs")));
    imported = await importFolder(services, sample);
  });
  afterAll(async () => {
    await opened.end();
    rmSync(folder, { recursive: true });
  });

  async function emptyServices(name: string): Promise<Services> {
    const database = await openSqlite(join(folder, `${name}.sqlite`));
    return servicesOver(database, await fileLogStore(join(folder, `${name}-logs`)));
  }

  it("import a folder and export it again, diagnosed alike", async () => {
    const zip = await exportJob(services, imported, join(folder, "out.zip"));
    const { diagnosis } = await diagnoseFolder(zip, () => {});
    const direct = diagnoseFiles(zip, sampleFiles("orchard-sprayer-ground-stud"));
    expect(JSON.parse(JSON.stringify(diagnosis))).toEqual(JSON.parse(JSON.stringify(direct)));
    await expect(exportJob(services, randomUUID(), join(folder, "none.zip"))).rejects.toThrow(/there should be a job/);
  });

  it("back up one moment of a store that goes on working, and restore it into another", async () => {
    const id = randomUUID();
    for (const title of ["first", "second"]) {
      const stands = await services.jobs.currentRevision("own", id);
      await services.jobs.keep(author, id, newDocument(smallJob(title)), stands ? [stands.revision] : "absent");
    }
    await services.accounts.add(`Ana ${id.slice(0, 8)}`, "a long password");
    const file = join(folder, "store.backup");
    const writing = (async () => {
      for (let n = 0; n < 20; n++)
        await services.jobs.keep(author, randomUUID(), newDocument(smallJob(`late ${n}`)), "absent");
    })();
    const [end] = await Promise.all([backup(services, file), writing]);
    expect(end.logs).toBe(logsOfSample);
    expect(statSync(file).mode & 0o777).toBe(0o600);
    expect(execFileSync("tar", ["tzf", file], { encoding: "utf8" })).toMatch(/^backup\.json\n[\s\S]*\nend\.json\n$/);

    const other = await emptyServices("other");
    expect(await restore(other, file)).toEqual(end);
    expect((await other.jobs.find("own", id))?.text).toBe(smallJob("second"));
    expect(await other.jobs.revisions("own", id)).toEqual(await services.jobs.revisions("own", id));
    expect((await other.jobs.list("own", 9, "orchard")).map((job) => job.id)).toEqual([imported]);
    const listed = async ({ jobs }: Services) => (await jobs.list("own", 50, "late")).map((job) => job.id);
    const inOrder = await listed(services);
    expect((await listed(other)).every((job, n, all) => inOrder.indexOf(job) >= inOrder.indexOf(all[n - 1]!))).toBe(
      true,
    );
    expect(await other.accounts.enter(`Ana ${id.slice(0, 8)}`, "a long password")).not.toBeNull();
    expect(await other.jobs.identity()).not.toBe(await services.jobs.identity());
    const next = await other.jobs.keep(author, randomUUID(), newDocument(smallJob("after")), "absent");
    expect(next.kept && next.revision).toBeGreaterThan(1_000_000);
    expect((await verifyStore(other)).damage).toEqual([]);
    await expect(restore(other, file)).rejects.toThrow(/the store should be empty/);
    await other.close();
  });

  it("refuse a backup that is cut short or none, and finish a restore that was broken off", async () => {
    const file = join(folder, "whole.backup");
    await backup(services, file);
    const cut = join(folder, "cut.backup");
    writeFileSync(cut, readFileSync(file));
    truncateSync(cut, statSync(file).size - 200);
    const other = await emptyServices("cut");
    await expect(restore(other, cut)).rejects.toThrow(/cut.backup: should be a whole backup/);
    await expect(restore(other, join(sample, "job.json"))).rejects.toThrow(/should be a whole backup of this program/);
    await expect(restore(other, join(folder, "none"))).rejects.toThrow(/there is no such file/);
    await restore(other, file);
    expect((await verifyStore(other)).damage).toEqual([]);
    await other.close();
  });

  it("verify every hash and name what is damaged or missing", async () => {
    expect(await verifyStore(services)).toMatchObject({ damage: [], logs: logsOfSample });
    const other = await emptyServices("damaged");
    const id = await importFolder(other, sample);
    const [log] = await all(other.logStore.all());
    const path = join(folder, "damaged-logs", log!.slice(0, 2), log!);
    const bytes = readFileSync(path);
    bytes[5]! ^= 1;
    writeFileSync(path, bytes);
    await other.database.db
      .updateTable("revisions")
      .set({ document: smallJob("tampered") })
      .where("job", "=", id)
      .execute();
    const { damage } = await verifyStore(other);
    expect(damage).toHaveLength(2);
    expect(damage.join("\n")).toMatch(
      new RegExp(`log ${log} is damaged[\\s\\S]*job ${id}, revision \\d+: its document does not match`),
    );
    const { pieces } = (await other.logStore.read(log!))!;
    await expect(all(pieces)).rejects.toThrow(/is damaged in the store/);
    await other.close();
  });

  it("draw a pairing code where a phone can reach the server, and say where it cannot", async () => {
    expect(await pairPhone(services, { HOST: "192.0.2.7", PORT: "8443" })).toMatch(
      /http:\/\/192.0.2.7:8443\/#\/pair\/\w{10}$/,
    );
    await expect(pairPhone(services, {})).rejects.toThrow(/HOST should be/);
  });
});

async function all<T>(items: AsyncIterable<T>): Promise<T[]> {
  const found: T[] = [];
  for await (const item of items) found.push(item);
  return found;
}
