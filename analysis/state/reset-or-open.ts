/**
 * Without volts at the load a set that lets go and a contact that opens look alike: by how often and how soon the current
 * comes back, and by what was watched, one is told from the other.
 */
import type { Disturbance } from "./disturbance-edges.ts";
import type { HeightCase } from "./keyed-height.ts";

export type Span = readonly [first: number, last: number];

/** Common practice: a set that lets go comes back and lets go again within a few seconds, as long as the key is held. */
const resetCycleSeconds = 2.4;

/**
 * Renames what passed for resets in transmissions whose current goes for good, where nothing shows that the set did it.
 * A round has one cause: where most transmissions look like a set that lets go, or some do and the current is away for
 * about as long each time, they name the others.
 */
export function nameOpened(given: HeightCase, found: Disturbance[], watched: Uint8Array, spans: readonly Span[]): void {
  const disturbed = spans.filter(([first, last]) => found.slice(first, last + 1).includes("load-reset"));
  const often = disturbed.filter(([first, last]) => letsGoOften(given, found, first, last));
  if (often.length >= disturbed.length / 2) return;
  if (often.length > 0 && awayAlike(given, found, disturbed)) return;
  for (const span of spans) {
    const [first, last] = span;
    if (!seesLoad(given, first, last) && !watches(given, watched, found, span)) renameBreaks(found, first, last);
  }
}

/** A set takes about as long each time to come back; a contact has no such time. Both as natural-log ratios, by judgement. */
const restartSpread = 0.15;
const contactSpread = 0.6;

/** Whether the times for which the current was away and came back are more alike than a contact's would be. */
function awayAlike(
  { starts, ends, signals }: HeightCase,
  found: readonly Disturbance[],
  spans: readonly Span[],
): boolean {
  const fastest = Math.min(...signals.map(({ intervalSeconds }) => intervalSeconds));
  const away: number[] = [];
  for (const [first, last] of spans) {
    for (let k = first; k <= last; k++) {
      if (found[k] !== "load-reset") continue;
      const begin = k;
      while (k < last && found[k + 1] === "load-reset") k++;
      if (k < last) away.push(ends[k]! - starts[begin]!);
    }
  }
  const logs = away.map(Math.log);
  const mean = logs.reduce((sum, log) => sum + log, 0) / logs.length;
  let evidence = 0;
  logs.forEach((log, i) => {
    const blur = fastest / away[i]! / Math.sqrt(6);
    const [set, contact] = [Math.hypot(restartSpread, blur), Math.hypot(contactSpread, blur)];
    evidence += Math.log(contact / set) - ((log - mean) ** 2 / 2) * (1 / set ** 2 - 1 / contact ** 2);
  });
  return logs.length > 1 && evidence > 0;
}

/** Whether each part of the loop was watched for most of the time that the current was gone: what none of them shows is no contact's. */
function watches(given: HeightCase, watched: Uint8Array, found: readonly Disturbance[], [first, last]: Span): boolean {
  let gone = 0;
  let seen = 0;
  for (let k = first; k <= last; k++) {
    if (found[k] !== "load-reset") continue;
    const seconds = given.ends[k]! - given.starts[k]!;
    gone += seconds;
    if (watched[k] === 1) seen += seconds;
  }
  return seen > gone / 2;
}

const seesLoad = (given: HeightCase, first: number, last: number): boolean =>
  given.signals.some(
    ({ sight, levels }) => sight === "load" && levels.subarray(first, last + 1).some((level) => !Number.isNaN(level)),
  );

/** Whether current goes and comes back again and again in one transmission, soon each time: a set does, as long as the key is held. */
function letsGoOften(given: HeightCase, found: readonly Disturbance[], first: number, last: number): boolean {
  let cycles = 0;
  let onSeconds = 0;
  for (let k = first; k <= last; k++) {
    if (found[k] === "load-reset" && (k === first || found[k - 1] !== "load-reset")) cycles++;
    if (found[k] !== "load-reset") onSeconds += given.ends[k]! - given.starts[k]!;
  }
  return cycles >= 2 && onSeconds / (cycles + 1) < resetCycleSeconds;
}

/** Without volts at the load a set that lets go and an open contact look alike: where none lets go often it is the contact. */
function renameBreaks(found: Disturbance[], first: number, last: number): void {
  for (let k = first; k <= last; k++) if (found[k] === "load-reset") found[k] = "contact-break";
}
