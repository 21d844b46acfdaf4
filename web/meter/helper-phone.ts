/** The helper at the set sees on a phone of his own when to key and when to release, over the server. */
import { signal } from "@preact/signals";

export type KeyWord = "key" | "release" | "wait";

/** the code that both phones know; null: nobody is told */
export const helperRoom = signal<string | null>(null);
/** whether the last word got through */
export const helperHears = signal(true);

export function openRoom(): string {
  helperRoom.value ??= crypto.randomUUID().slice(0, 8);
  return helperRoom.value;
}

let last: KeyWord | null = null;

export async function tellHelper(word: KeyWord): Promise<void> {
  const room = helperRoom.value;
  if (room === null || word === last) return;
  last = word;
  const answer = await fetch(`api/live/key?room=${room}`, {
    method: "PUT",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ word }),
  }).catch(() => null);
  helperHears.value = answer?.ok === true;
  if (!answer?.ok && last === word) last = null;
}

/** What the helper is told: null while the server is out of reach. */
export function hearKeyWord(room: string, onWord: (word: KeyWord | null) => void): () => void {
  const events = new EventSource(`api/live/key?room=${encodeURIComponent(room)}`);
  events.onmessage = ({ data }) => onWord((JSON.parse(data) as { word: KeyWord }).word);
  events.onerror = () => onWord(null);
  return () => events.close();
}
