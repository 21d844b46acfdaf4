/** Live logs that a page left behind when it was closed or killed become logs of their jobs at the next start. */
import { signal } from "@preact/signals";

/** how many were found at this start */
export const foundLeftBehind = signal(0);

export async function takeUpLeftBehind(): Promise<void> {
  const { keepLeftBehind } = await import("../meter/finished-log.ts");
  foundLeftBehind.value = await keepLeftBehind().catch(() => 0);
}
