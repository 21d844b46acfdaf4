/** `npx tsx tests/api/server/kill-run.ts KILLS`: the crash test at length, on SQLite and where TEST_DATABASE_URL is set on PostgreSQL. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { freshDatabase } from "../../fixtures/databases.ts";
import { killAgainAndAgain } from "./kill.ts";

const kills = Number(process.argv[2] ?? 50);
const server = process.env.TEST_DATABASE_URL;

async function run(store: string, settings: Record<string, string>): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "kill-"));
  const report = await killAgainAndAgain({ DATA_DIR: folder, ...settings }, kills, kills);
  rmSync(folder, { recursive: true });
  const { jobs, logs, writes, lost } = report;
  console.log(
    `${store}: ${kills} kills, ${writes} acknowledged writes (${jobs} jobs, ${logs} logs), ${lost.length} lost`,
  );
  for (const what of lost) console.log(`  ${what}`);
  if (lost.length > 0) process.exitCode = 1;
}

await run("SQLite", {});
if (server) {
  const { url, drop } = await freshDatabase(server);
  await run("PostgreSQL", { DATABASE_URL: url });
  await drop();
}
