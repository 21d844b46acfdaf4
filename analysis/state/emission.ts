/**
 * Whether a set's current follows the voice, the code or its time slots while it is keyed: then a level that comes and goes
 * is what it sends, and neither a contact nor a set that lets go.
 */
import type { Job } from "../job/job.ts";

/** Not declared counts as FM: the current stands as long as the key is held. */
export const isPulsed = ({ load }: Pick<Job, "load">): boolean => load.emission !== undefined && load.emission !== "fm";
