/**
 * Eight clients write jobs and logs to the real server, which is killed in the middle, again and again. What was
 * acknowledged must be there afterwards, every log must match its hash, and no job may be half.
 */
import { randomUUID } from "node:crypto";
import { setTimeout } from "node:timers/promises";
import { chanceOf } from "../../fixtures/chance.ts";
import { creating, replacing, sha256Of, smallJob } from "../../fixtures/kept-app.ts";
import { type RealServer, startServer, until } from "../../fixtures/real-server.ts";

export interface KillReport {
  readonly kills: number;
  readonly jobs: number;
  readonly writes: number;
  readonly logs: number;
  readonly lost: readonly string[];
}

interface Ledger {
  /** job → newest acknowledged document, and what was on its way when the server died */
  readonly jobs: Map<string, { text: string; revision: number; onItsWay: Set<string> }>;
  readonly logs: Map<string, string>;
  writes: number;
}

const clients = 8;

/** @param settings DATA_DIR, and DATABASE_URL for PostgreSQL */
export async function killAgainAndAgain(
  settings: Readonly<Record<string, string>>,
  kills: number,
  seed: number,
): Promise<KillReport> {
  const ledger: Ledger = { jobs: new Map(), logs: new Map(), writes: 0 };
  const drawn = chanceOf(seed);
  const chance = () => drawn.between(0, 1);
  const lost: string[] = [];
  for (let kill = 0; kill < kills; kill++) {
    const server = await startServer(settings);
    lost.push(...(await missing(server, ledger, kill === 0 ? 1 : 0.2, chance)));
    const writing = Array.from({ length: clients }, () => writeUntilItDies(server, ledger, chance));
    // at a moment that depends on how far the writers are, not on how busy the machine is
    const enough = ledger.writes + drawn.between(8, 60);
    await until(() => ledger.writes >= enough);
    await setTimeout(20 * chance());
    await server.end("SIGKILL");
    await Promise.all(writing);
  }
  const server = await startServer(settings);
  lost.push(...(await missing(server, ledger, 1, chance)));
  await server.end();
  return { kills, jobs: ledger.jobs.size, writes: ledger.writes, logs: ledger.logs.size, lost };
}

async function writeUntilItDies({ address }: RealServer, ledger: Ledger, chance: () => number): Promise<void> {
  for (;;) {
    try {
      if (chance() < 0.3) await writeLog(address, ledger, chance);
      else await writeJob(address, ledger, chance);
    } catch {
      return;
    }
  }
}

async function writeLog(address: string, ledger: Ledger, chance: () => number): Promise<void> {
  const bytes = `${randomUUID()}\n`.repeat(1 + Math.floor(chance() * 4000));
  const sha256 = sha256Of(bytes);
  const response = await fetch(`${address}/api/logs/${sha256}`, { method: "PUT", body: bytes });
  if (response.status !== 201) throw new Error(await response.text());
  ledger.logs.set(sha256, bytes);
  ledger.writes++;
}

async function writeJob(address: string, ledger: Ledger, chance: () => number): Promise<void> {
  const known = [...ledger.jobs.entries()];
  const [id, entry] =
    chance() < 0.5 && known.length > 0 ? known[Math.floor(chance() * known.length)]! : [randomUUID(), null];
  const text = smallJob(randomUUID(), { notes: "n".repeat(Math.floor(chance() * 20_000)) });
  entry?.onItsWay.add(text);
  const headers = entry ? replacing(entry.revision) : creating;
  const response = await fetch(`${address}/api/jobs/${id}`, { method: "PUT", body: text, headers });
  if (response.status === 412) {
    const stands = await fetch(`${address}/api/jobs/${id}`);
    const now = await stands.text();
    if (entry) ledger.jobs.set(id, { text: now, revision: revisionOf(stands), onItsWay: new Set() });
    return;
  }
  if (!response.ok) throw new Error(await response.text());
  const revision = revisionOf(response);
  const stands = ledger.jobs.get(id);
  if (!stands || stands.revision < revision)
    ledger.jobs.set(id, { text, revision, onItsWay: stands?.onItsWay ?? new Set() });
  ledger.writes++;
}

const revisionOf = (response: Response): number => Number(response.headers.get("etag")!.slice(1, -1));

/** What of the ledger the server no longer has. @param share of the ledger that is looked at */
async function missing(
  { address }: RealServer,
  ledger: Ledger,
  share: number,
  chance: () => number,
): Promise<string[]> {
  const lost: string[] = [];
  for (const [id, entry] of ledger.jobs) {
    if (chance() > share) continue;
    const response = await fetch(`${address}/api/jobs/${id}`);
    const text = await response.text();
    const whole = text === entry.text || entry.onItsWay.has(text);
    if (!response.ok || !whole || revisionOf(response) < entry.revision) lost.push(`job ${id}: ${response.status}`);
    // a write whose answer was lost may stand: it is what the next one starts from
    else ledger.jobs.set(id, { text, revision: revisionOf(response), onItsWay: new Set() });
  }
  for (const [sha256, bytes] of ledger.logs) {
    if (chance() > share) continue;
    const response = await fetch(`${address}/api/logs/${sha256}`);
    if (!response.ok || (await response.text()) !== bytes) lost.push(`log ${sha256}: ${response.status}`);
  }
  return lost;
}
