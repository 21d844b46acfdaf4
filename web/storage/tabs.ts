/** Windows of the same browser tell each other what they saved. */
import type { JobRecord } from "./database.ts";

export interface SavedElsewhere {
  readonly id: string;
  readonly revision: number;
}

const channel = new BroadcastChannel("loopwalk-jobs");

export function tellTabs({ id, revision }: Pick<JobRecord, "id" | "revision">): void {
  channel.postMessage({ id, revision } satisfies SavedElsewhere);
}

export function onSavedElsewhere(listener: (saved: SavedElsewhere) => void): () => void {
  const heard = (event: MessageEvent<SavedElsewhere>) => listener(event.data);
  channel.addEventListener("message", heard);
  return () => channel.removeEventListener("message", heard);
}
