/**
 * One turn of following the server: first everything changed here is sent, then everything changed there is fetched.
 * Each step is remembered by itself, so that a turn may break off anywhere and the next one goes on; an answer that was
 * lost is recognised by its content. What was changed here is on the server, as a revision or beside one, before
 * anything of another device is laid over it.
 */
import { merge } from "../merge.ts";
import { freshEntry, type SyncEntry } from "./sync-entry.ts";
import type { SyncServer } from "./sync-server.ts";
import { contentOf, type JobContent, wireText } from "./wire.ts";

/** The device's own store, as the engine needs it. */
export interface LocalStore {
  ids(): Promise<readonly string[]>;
  /** content, or null where the job is deleted here; undefined where it never was here */
  read(id: string): Promise<JobContent | null | undefined>;
  /** lays content (null: deletion) over the job if it is still `unless changed`; false where it was edited meanwhile */
  take(id: string, content: JobContent | null, seen: string | null | undefined): Promise<boolean>;
  entry(id: string): Promise<SyncEntry | undefined>;
  remember(entry: SyncEntry): Promise<void>;
  entries(): Promise<readonly SyncEntry[]>;
  cursor(): Promise<string | null>;
  rememberCursor(cursor: string): Promise<void>;
  log(sha256: string): Promise<ArrayBuffer | null>;
  keepLog(sha256: string, bytes: ArrayBuffer): Promise<void>;
}

/** @throws {SignInNeeded} @throws {Unreachable} wherever the turn broke off */
export async function syncOnce(local: LocalStore, server: SyncServer): Promise<void> {
  for (const id of await local.ids()) await push(local, server, id);
  await pull(local, server);
  // what was merged on the way
  for (const id of await local.ids()) await push(local, server, id);
}

const textOf = (content: JobContent | null | undefined) => (content ? wireText(content) : content);

async function push(local: LocalStore, server: SyncServer, id: string): Promise<void> {
  const mine = textOf(await local.read(id));
  const entry = (await local.entry(id)) ?? freshEntry(id);
  if (mine === undefined || entry.theirs || mine === entry.base) return;
  if (mine !== null) await sendLogs(local, server, mine);
  const put =
    mine === null
      ? await server.remove(id, entry.revision!)
      : await server.put(id, mine, entry.base === null ? null : entry.revision);
  if (put.kind === "kept") {
    await local.remember({ ...freshEntry(id), revision: put.revision, base: mine });
  } else if (put.kind === "refused") {
    await local.remember({ ...entry, trouble: put.why });
  } else if (put.inLine !== null) {
    await local.remember({ ...freshEntry(id), revision: put.inLine, base: mine });
  } else {
    await meet(local, server, entry, put.current?.revision ?? null);
  }
}

/** @param tombstone revision of the deletion, where the job is not there */
async function meet(local: LocalStore, server: SyncServer, entry: SyncEntry, tombstone: number | null): Promise<void> {
  const { id, base } = entry;
  const there = await server.get(id);
  if (there) await fetchLogs(local, server, there.text);
  const seen = textOf(await local.read(id));
  const theirs = there ? wireText(contentOf(there.text)) : null;
  const revision = there?.revision ?? tombstone;
  const known: SyncEntry = { ...freshEntry(id), revision, base: theirs };
  if (seen === theirs || (seen === null && theirs === null)) return local.remember(known);
  if (seen === undefined || seen === base) {
    if (await local.take(id, theirs === null ? null : contentOf(theirs), seen)) await local.remember(known);
    return;
  }
  // the server knows nothing of it (another server, or one restored from before it): send it anew
  if (revision === null) return local.remember(freshEntry(id));
  const merged = seen !== null && theirs !== null && base !== null ? mergedText(base, seen, theirs) : null;
  if (merged === null) return local.remember({ ...entry, theirs: { revision, text: theirs }, trouble: null });
  if (await local.take(id, contentOf(merged), seen)) await local.remember(known);
}

/** null: both changed the same thing */
function mergedText(base: string, mine: string, theirs: string): string | null {
  const { value, disputed } = merge(JSON.parse(base), JSON.parse(mine), JSON.parse(theirs));
  return disputed.length > 0 ? null : wireText(contentOf(JSON.stringify(value)));
}

async function pull(local: LocalStore, server: SyncServer): Promise<void> {
  const before = await local.cursor();
  const seen = new Set<string>();
  let elsewhere = false;
  for (let cursor = before; ; ) {
    const page = await server.changes(cursor);
    elsewhere ||= before !== null && storeOf(before) !== storeOf(page.cursor);
    for (const change of page.changes) {
      seen.add(change.id);
      await follow(local, server, change);
    }
    if (elsewhere && page.changes.length === 0) await sendAnew(local, seen);
    if (page.cursor !== cursor) await local.rememberCursor(page.cursor);
    if (page.changes.length === 0) return;
    cursor = page.cursor;
  }
}

const storeOf = (cursor: string): string => cursor.split(".")[0]!;

async function follow(
  local: LocalStore,
  server: SyncServer,
  change: { id: string; revision: number; deleted: boolean },
) {
  const { id, revision } = change;
  const entry = (await local.entry(id)) ?? freshEntry(id);
  if (revision === entry.revision || revision === entry.theirs?.revision) return;
  const mine = textOf(await local.read(id));
  if (mine === undefined && change.deleted) return;
  if (entry.theirs) return refreshTheirs(local, server, entry, revision);
  // an older one than was known here: the server was restored from a backup, and what is here is newer
  const restored = entry.revision !== null && revision < entry.revision;
  if (restored) return startFrom(local, server, id, revision);
  const changedHere = mine !== undefined && mine !== entry.base;
  if (changedHere) await push(local, server, id);
  else await meet(local, server, entry, revision);
}

async function startFrom(local: LocalStore, server: SyncServer, id: string, revision: number): Promise<void> {
  const there = await server.get(id);
  const base = there ? wireText(contentOf(there.text)) : null;
  await local.remember({ ...freshEntry(id), revision: there?.revision ?? revision, base });
}

async function refreshTheirs(local: LocalStore, server: SyncServer, entry: SyncEntry, revision: number): Promise<void> {
  const there = await server.get(entry.id);
  if (there) await fetchLogs(local, server, there.text);
  const text = there ? wireText(contentOf(there.text)) : null;
  await local.remember({ ...entry, theirs: { revision: there?.revision ?? revision, text } });
}

/** Jobs that a restored server does not know at all are sent to it as new ones. */
async function sendAnew(local: LocalStore, seen: ReadonlySet<string>): Promise<void> {
  for (const { id, base } of await local.entries()) {
    if (!seen.has(id) && base !== null) await local.remember(freshEntry(id));
  }
}

/** What the person decided about a conflict. What is given up is left beside on the server first. */
export async function resolve(
  local: LocalStore,
  server: SyncServer,
  id: string,
  keep: "mine" | "theirs",
): Promise<void> {
  const entry = await local.entry(id);
  if (!entry?.theirs) return;
  const { revision, text } = entry.theirs;
  const known: SyncEntry = { ...freshEntry(id), revision, base: text };
  if (keep === "mine") return local.remember(known);
  const mine = textOf(await local.read(id));
  if (mine) {
    await sendLogs(local, server, mine);
    // refused since it is not the newest, and kept beside for that reason
    await server.put(id, mine, entry.revision ?? 0);
  }
  if (await local.take(id, text === null ? null : contentOf(text), mine)) await local.remember(known);
}

async function sendLogs(local: LocalStore, server: SyncServer, text: string): Promise<void> {
  for (const { sha256 } of Object.values(contentOf(text).files)) {
    if (await server.hasLog(sha256)) continue;
    const bytes = await local.log(sha256);
    if (bytes) await server.putLog(sha256, bytes);
  }
}

async function fetchLogs(local: LocalStore, server: SyncServer, text: string): Promise<void> {
  for (const { sha256 } of Object.values(contentOf(text).files)) {
    if ((await local.log(sha256)) !== null) continue;
    const bytes = await server.getLog(sha256);
    if (bytes) await local.keepLog(sha256, bytes);
  }
}
