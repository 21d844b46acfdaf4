/** The screen stays on while a meter is heard; a browser drops that whenever the page is hidden, so it is asked for again. */
import { signal } from "@preact/signals";

/** null: not asked for; false: this browser does not grant it */
export const heldAwake = signal<boolean | null>(null);
export const hidden = signal(document.visibilityState === "hidden");
/** how long the page was out of sight the last time, in seconds; null: not since measuring began */
export const wasHiddenSeconds = signal<number | null>(null);

let lock: { release(): Promise<void> } | null = null;
let wanted = false;
let hiddenAt = 0;

document.addEventListener("visibilitychange", () => {
  hidden.value = document.visibilityState === "hidden";
  if (hidden.value) hiddenAt = Date.now();
  else {
    if (wanted) wasHiddenSeconds.value = (Date.now() - hiddenAt) / 1000;
    if (wanted) void hold();
  }
});

async function hold(): Promise<void> {
  try {
    lock = await navigator.wakeLock.request("screen");
    heldAwake.value = true;
  } catch {
    heldAwake.value = false;
  }
}

export function stayAwake(): void {
  if (wanted) return;
  wanted = true;
  wasHiddenSeconds.value = null;
  void hold();
}

export function letSleep(): void {
  wanted = false;
  void lock?.release();
  lock = null;
  heldAwake.value = null;
}
