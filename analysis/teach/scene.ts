/** What a kind of frame offers beside its number: bits and fields that live, and where over-range was typed. */
import { checkBits } from "./coding-bits.ts";
import { type BitTrack, livingBits } from "./flag-search.ts";
import type { KindProposal } from "./frame-kind-search.ts";
import { type Field, fields } from "./range-search.ts";
import { framesAround } from "./sighting.ts";
import type { Lesson } from "./teach-input.ts";

export interface Scene {
  readonly kind: KindProposal;
  readonly lesson: Lesson;
  readonly bits: readonly BitTrack[];
  readonly fields: readonly Field[];
  readonly overWindows: readonly (readonly number[])[];
  /** largest typed value, V or A */
  readonly typedMost: number;
}
export function sceneOf(kind: KindProposal, lesson: Lesson): Scene {
  const taken = checkBits(kind.kind);
  return {
    kind,
    lesson,
    bits: kind.text ? [] : livingBits(kind.frames, taken),
    fields: kind.text ? [] : fields(kind.frames, taken),
    overWindows: lesson.overRangeSeconds.map((seconds) => framesAround(kind.seconds, seconds)),
    typedMost: Math.max(...lesson.numbers.map((typed) => Math.abs(typed.base))),
  };
}
