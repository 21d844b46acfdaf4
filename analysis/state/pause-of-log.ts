import type { Seconds } from "../units.ts";

/** Samples further apart than this have a pause of the log between them: nobody knows what happened meanwhile. */
export const pauseSeconds = (intervalSeconds: Seconds): Seconds => Math.max(10 * intervalSeconds, 5);
