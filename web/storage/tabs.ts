/** Windows of the same browser tell each other what they saved. */
import type { JobRecord } from "./database.ts";

export interface SavedElsewhere {
  readonly id: string;
  readonly revision: number;
}

const channel = new BroadcastChannel("loopwalk-jobs");
const savedHere = new Set<(saved: SavedElsewhere) => void>();
const laidOver = new Set<(saved: SavedElsewhere) => void>();

export function tellTabs({ id, revision }: Pick<JobRecord, "id" | "revision">): void {
  const saved: SavedElsewhere = { id, revision };
  channel.postMessage(saved);
  for (const listener of savedHere) listener(saved);
}

/** What came from the server is news to this window as well as to the others. */
export function announce({ id, revision }: Pick<JobRecord, "id" | "revision">): void {
  const saved: SavedElsewhere = { id, revision };
  channel.postMessage(saved);
  for (const listener of laidOver) listener(saved);
}

/** Whatever is saved, in this window or in another. */
export function onSaved(listener: (saved: SavedElsewhere) => void): void {
  savedHere.add(listener);
  onSavedElsewhere(listener);
}

export function onSavedElsewhere(listener: (saved: SavedElsewhere) => void): () => void {
  const heard = (event: MessageEvent<SavedElsewhere>) => listener(event.data);
  channel.addEventListener("message", heard);
  laidOver.add(listener);
  return () => {
    channel.removeEventListener("message", heard);
    laidOver.delete(listener);
  };
}
