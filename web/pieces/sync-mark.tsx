/** Where a job stands between this device and the server, in two or three words. */
import { following, jobStates } from "../storage/sync/following.ts";
import type { SyncState } from "../storage/sync/sync-entry.ts";

const words: Record<SyncState, string> = {
  "kept-here": "on this device",
  waiting: "waiting to be sent",
  sent: "on the server",
  conflict: "changed in two places",
  refused: "not taken by the server",
};

export function SyncMark({ id }: { id: string }) {
  const state = jobStates.value.get(id);
  if (following.value === "no-server" || state === undefined) return null;
  return <span class={`sync-mark sync-${state}`}>{words[state]}</span>;
}
