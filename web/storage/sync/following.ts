/**
 * Following the server in the background: a turn after every save, when the network comes back, when the page is
 * looked at, and every half minute. Without a server, or while nobody is signed in, everything stays here as it is.
 */
import { signal } from "@preact/signals";
import { onSaved } from "../tabs.ts";
import { allIds, browserStore, entryOf } from "./browser-store.ts";
import { resolve, syncOnce } from "./sync.ts";
import { type SyncEntry, type SyncState, stateOf } from "./sync-entry.ts";
import { SignInNeeded, syncServer, Unreachable } from "./sync-server.ts";
import { wireText } from "./wire.ts";

export type Following =
  /** this copy of the app was not served by a server that keeps jobs */
  "no-server" | "not-signed-in" | "out-of-reach" | "following";

export interface Door {
  readonly signedIn: boolean;
  readonly open: boolean;
  readonly passphrase: boolean;
}

export const following = signal<Following>("no-server");
export const door = signal<Door | null>(null);
/** job → where it stands between this device and the server */
export const jobStates = signal<ReadonlyMap<string, SyncState>>(new Map());
/** job → what the server holds against what is here: conflicts, and what it does not take */
export const open = signal<ReadonlyMap<string, SyncEntry>>(new Map());

const pauseMilliseconds = 30_000;
const afterSaveMilliseconds = 1_500;

const saved = new Set<string>();
/** of these, saved since the turn that runs began: it may have been too late for it */
const savedSince = new Set<string>();
const store = browserStore(saved);
const server = syncServer((path, init) => fetch(path, { ...init, signal: AbortSignal.timeout(120_000) }));
let timer: ReturnType<typeof setTimeout> | undefined;
let running: Promise<void> | null = null;

export async function startFollowing(): Promise<void> {
  for (const id of await allIds()) saved.add(id);
  onSaved(({ id }) => {
    saved.add(id);
    savedSince.add(id);
    void showState(id);
    soon(afterSaveMilliseconds);
  });
  addEventListener("online", () => soon(0));
  document.addEventListener("visibilitychange", () => void (document.hidden || soon(0)));
  await pairByAddress();
  soon(0);
}

function soon(milliseconds: number): void {
  clearTimeout(timer);
  timer = setTimeout(() => void followNow(), milliseconds);
}

/** One turn now; a second call while one runs waits for the next. */
export async function followNow(): Promise<void> {
  if (running) await running;
  running = navigator.locks.request("loopwalk-sync", turn).finally(() => {
    running = null;
    soon(savedSince.size > 0 ? afterSaveMilliseconds : pauseMilliseconds);
  });
  await running;
}

async function turn(): Promise<void> {
  const looked = [...saved];
  savedSince.clear();
  if (await canFollow()) {
    try {
      await syncOnce(store, server);
      for (const id of looked) if (!savedSince.has(id)) saved.delete(id);
      following.value = "following";
    } catch (error) {
      if (error instanceof SignInNeeded) following.value = "not-signed-in";
      else if (error instanceof Unreachable) following.value = "out-of-reach";
      else throw error;
    }
  }
  for (const id of await allIds()) if (looked.includes(id) || !jobStates.value.has(id)) await showState(id);
}

async function canFollow(): Promise<boolean> {
  try {
    const response = await fetch("/api/session", { signal: AbortSignal.timeout(10_000) });
    if (!response.headers.get("content-type")?.includes("json")) throw new Error("no server of ours");
    if (!response.ok) {
      following.value = response.status === 404 ? "no-server" : "out-of-reach";
      return false;
    }
    door.value = (await response.json()) as Door;
  } catch {
    following.value = following.value === "no-server" ? "no-server" : "out-of-reach";
    return false;
  }
  if (door.value.open || door.value.signedIn) return true;
  following.value = "not-signed-in";
  return false;
}

async function showState(id: string): Promise<void> {
  const [content, entry] = await Promise.all([store.read(id), entryOf(id)]);
  if (content === undefined) return;
  const state = stateOf(entry, content && wireText(content));
  if (jobStates.value.get(id) !== state) jobStates.value = new Map(jobStates.value).set(id, state);
  const shown = new Map(open.value);
  if (entry && (entry.theirs || entry.trouble)) shown.set(id, entry);
  else shown.delete(id);
  if (shown.size > 0 || open.value.size > 0) open.value = shown;
}

/** The person decided; the turn that follows sends it. */
export async function decide(id: string, keep: "mine" | "theirs"): Promise<void> {
  await navigator.locks.request("loopwalk-sync", () => resolve(store, server, id, keep));
  saved.add(id);
  await followNow();
}

/** @returns what was wrong, in a sentence; null: signed in */
export async function signIn(name: string, password: string): Promise<string | null> {
  return entered("/api/session", name === "" ? { password } : { name, password });
}

export async function signOut(): Promise<void> {
  await fetch("/api/session", { method: "DELETE" });
  await followNow();
}

async function entered(path: string, body: object): Promise<string | null> {
  const headers = { "content-type": "application/json" };
  const response = await fetch(path, { method: "POST", headers, body: JSON.stringify(body) });
  if (response.ok) {
    await followNow();
    return null;
  }
  const { detail } = (await response.json().catch(() => ({}))) as { detail?: string };
  return detail ?? `The server answers ${response.status}.`;
}

/** A phone that scanned the laptop's code comes here as `#/pair/CODE`. */
async function pairByAddress(): Promise<void> {
  const code = /^#\/pair\/(\w+)$/.exec(location.hash)?.[1];
  if (code === undefined) return;
  location.replace("#/settings");
  pairingTrouble.value = await entered("/api/pairings/redeem", { code });
}

export const pairingTrouble = signal<string | null>(null);

export interface OfferedPairing {
  readonly code: string;
  readonly address: string | null;
}

export async function offerPairing(): Promise<OfferedPairing | null> {
  const response = await fetch("/api/pairings", { method: "POST" });
  return response.ok ? ((await response.json()) as OfferedPairing) : null;
}
