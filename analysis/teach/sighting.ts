/**
 * What was typed laid beside the frames that the display can have shown: the hand is up to 1.5 s late, and a frame
 * stays on the display until the next. One sighting a typed value, for one kind of frame.
 */
import type { KindProposal } from "./frame-kind-search.ts";
import type { Lesson, TypedNumber } from "./teach-input.ts";

/** formats.md section 4 */
const lateSeconds = 1.5;
/** clocks of display, link and hand agree no better than this (our choice) */
const slackSeconds = 0.15;

export interface Sighting {
  /** what the number should come to, in the unit that is tried */
  readonly value: number;
  /** it was rounded by at most this much */
  readonly half: number;
  /** indices of the frames that it may have come from */
  readonly frames: readonly number[];
  readonly typed: TypedNumber;
}

/** In which unit the number is sought: V and A, or as the display showed it. */
export type Domain = "base" | "shown";

export function sightings(lesson: Lesson, kind: KindProposal, domain: Domain): Sighting[] {
  return lesson.numbers.map((typed) => {
    const factor = domain === "base" && typed.unit.startsWith("m") ? 1e-3 : 1;
    return {
      value: domain === "base" ? typed.base : typed.shown,
      half: typed.step * factor * (0.5 + 1e-6),
      frames: framesAround(kind.seconds, typed.seconds),
      typed,
    };
  });
}

/** Frames that came while the hand was on its way, and the one that stood on the display before. */
export function framesAround(seconds: Float64Array, typedSeconds: number): number[] {
  const from = typedSeconds - lateSeconds - slackSeconds;
  const to = typedSeconds + slackSeconds;
  const frames: number[] = [];
  let first = lowerBound(seconds, from);
  if (first > 0 && (first === seconds.length || seconds[first]! > from)) first--;
  for (let i = first; i < seconds.length && seconds[i]! <= to; i++) frames.push(i);
  return frames;
}

function lowerBound(seconds: Float64Array, wanted: number): number {
  let low = 0;
  let high = seconds.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (seconds[middle]! < wanted) low = middle + 1;
    else high = middle;
  }
  return low;
}
