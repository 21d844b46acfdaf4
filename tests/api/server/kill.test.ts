/**
 * Nothing acknowledged is lost: a short run of what `npx tsx tests/api/server/kill-run.ts 50` does at length,
 * on SQLite, and on PostgreSQL where TEST_DATABASE_URL names a server.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, it } from "vitest";
import { freshDatabase } from "../../fixtures/databases.ts";
import { type KillReport, killAgainAndAgain } from "./kill.ts";

const kills = 3;

function expectNothingLost(report: KillReport): void {
  console.log(`${report.kills} kills, ${report.writes} acknowledged writes, ${report.lost.length} lost`);
  expect(report.lost).toEqual([]);
  expect(report.writes).toBeGreaterThan(20);
}

it("loses nothing that it acknowledged when it is killed, on SQLite", async () => {
  const folder = mkdtempSync(join(tmpdir(), "kill-"));
  expectNothingLost(await killAgainAndAgain({ DATA_DIR: folder }, kills, 1));
  rmSync(folder, { recursive: true });
});

const server = process.env.TEST_DATABASE_URL;
it.runIf(server)("loses nothing that it acknowledged when it is killed, on PostgreSQL", async () => {
  const folder = mkdtempSync(join(tmpdir(), "kill-"));
  const { url, drop } = await freshDatabase(server!);
  expectNothingLost(await killAgainAndAgain({ DATA_DIR: folder, DATABASE_URL: url }, kills, 2));
  await drop();
  rmSync(folder, { recursive: true });
});
