/** How much room the browser gives, and whether it may clear it away by itself. */
import { signal } from "@preact/signals";

export interface Room {
  readonly usedBytes: number;
  readonly quotaBytes: number;
  /** the browser has promised not to clear the store when space runs short */
  readonly lasting: boolean;
}

export const room = signal<Room | null>(null);

export async function measureRoom(): Promise<void> {
  if (!navigator.storage?.estimate) return;
  const { usage = 0, quota = 0 } = await navigator.storage.estimate();
  room.value = { usedBytes: usage, quotaBytes: quota, lasting: await navigator.storage.persisted() };
}

export async function askToLast(): Promise<void> {
  await navigator.storage?.persist?.();
  await measureRoom();
}

/** One sentence for what went wrong while saving. */
export function savingProblem(error: unknown): string {
  if ((error as Error).name === "QuotaExceededError") {
    return "The browser's storage is full: this change is on the screen but not saved. Export or delete old jobs to make room.";
  }
  return "The browser could not save this change: it is on the screen only. Export the job to keep it.";
}
