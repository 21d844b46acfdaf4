/**
 * Where disturbances begin and end: logs do not agree to the moment, and filters take a while to show what others have seen.
 * Goes in: keyed stretches with a name each. Changes: the names at the edges.
 */
import type { Seconds } from "../units.ts";
import type { HeightCase } from "./keyed-height.ts";
import type { Pause } from "./pause.ts";

export type Disturbance = "load-reset" | "contact-break" | null;

/** A contact has begun to open where a signal has gone this share of its way, and takes so long to be seen by all; judgement. */
const onsetShare = 0.25;
const onsetSeconds: Seconds = 0.8;
/** A signal tells where it moves by so many of its uncertainties. */
export const clearSteps = 5;
const touchSeconds: Seconds = 0.5;
const mostTouch: Seconds = 2;

/**
 * A set lets go after it was keyed: what looks so at either edge, or before the fastest log can have looked, is a log that
 * is a moment late, unless the key was let go meanwhile.
 */
export function cutEdges(
  { starts, signals }: HeightCase,
  found: Disturbance[],
  pauses: readonly Pause[],
  first: number,
  last: number,
): void {
  const inPause = (k: number) => pauses.some((pause) => k >= pause.first && k <= pause.last);
  const fastest = Math.min(...signals.map(({ intervalSeconds }) => intervalSeconds));
  let begin = first;
  while (begin < last && found[begin] === null && starts[begin + 1]! - starts[first]! < fastest) begin++;
  for (let k = begin; k <= last && found[k] === "load-reset" && !inPause(k); k++) found[k] = null;
  for (let k = last; k >= first && found[k] === "load-reset" && !inPause(k); k--) found[k] = null;
}

/** Logs do not agree to the moment, and slow ones mix two levels: what only just touches a broken contact is the same break. */
export function joinBreaks(given: HeightCase, found: Disturbance[], first: number, last: number): void {
  const slowest = Math.max(...given.signals.map(({ intervalSeconds }) => intervalSeconds));
  const touching = Math.max(touchSeconds, Math.min(1.3 * slowest, mostTouch));
  for (let k = first; k <= last; k++) {
    if (found[k] !== "load-reset") continue;
    let end = k;
    while (end < last && found[end + 1] === "load-reset") end++;
    const touches = (k > first && found[k - 1] === "contact-break") || found[end + 1] === "contact-break";
    if (touches && given.ends[end]! - given.starts[k]! < touching) found.fill("contact-break", k, end + 1);
    k = end;
  }
}

/** What a meter's filter takes to show a contact that opens belongs to it: the other meters show when it began. */
export function beginBreaks(given: HeightCase, found: Disturbance[], first: number, last: number): void {
  const { starts, ends, signals } = given;
  for (let k = last; k > first + 1; k--) {
    const begins = found[k] === "contact-break" && found[k - 1] === null;
    if (!begins || ends[k - 1]! - starts[k - 1]! > onsetSeconds) continue;
    const onTheWay = signals.some(({ levels, uncertainty }) => {
      const whole = levels[k]! - levels[k - 2]!;
      return Math.abs(whole) > clearSteps * uncertainty[k]! && (levels[k - 1]! - levels[k - 2]!) / whole > onsetShare;
    });
    if (onTheWay) found[k - 1] = "contact-break";
  }
}
