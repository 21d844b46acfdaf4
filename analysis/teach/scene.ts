/** What a kind of frame offers beside its number: bits and fields that live, and where over-range was typed. */
import { slowClockBytes } from "./clock-bytes.ts";
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
  /** printed characters throughout, read as lines or as columns */
  readonly lines: boolean;
  readonly overWindows: readonly (readonly number[])[];
  /** largest typed value, V or A */
  readonly typedMost: number;
}
export function sceneOf(kind: KindProposal, lesson: Lesson): Scene {
  const taken = new Set([...checkBits(kind.kind), ...framingBits(kind), ...bitsAt(slowClockBytes(kind.frames))]);
  return {
    kind,
    lesson,
    bits: kind.text ? [] : livingBits(kind.frames, taken),
    fields: kind.text ? [] : fields(kind.frames, taken),
    lines: kind.frames.every((frame) => frame.every(isPrinted)),
    overWindows: lesson.overRangeSeconds.map((seconds) => framesAround(kind.seconds, seconds)),
    typedMost: Math.max(...lesson.numbers.map((typed) => Math.abs(typed.base))),
  };
}

const isPrinted = (byte: number): boolean =>
  (byte >= 0x20 && byte < 0x7f) || byte === 0x09 || byte === 0x02 || byte === 0x03;

/** A frame's start mark and its length say nothing of its number. */
function framingBits({ framing, kind, frames }: KindProposal): number[] {
  const bytes = framing.kind === "counted" ? [...framing.start.keys(), framing.lengthAt] : [];
  if (kind.length === undefined) bytes.push(...lengthBytes(frames));
  return bitsAt(bytes);
}

const bitsAt = (bytes: readonly number[]): number[] =>
  bytes.flatMap((at) => Array.from({ length: 8 }, (_, bit) => at * 8 + bit));

/** Bytes that go up and down with the frame's own length. */
function lengthBytes(frames: readonly Uint8Array[]): number[] {
  const shortest = Math.min(...frames.map((frame) => frame.length));
  if (frames.every((frame) => frame.length === shortest)) return [];
  const first = frames[0]!;
  return Array.from({ length: shortest }, (_, at) => at).filter((at) =>
    frames.every((frame) => frame[at]! - frame.length === first[at]! - first.length),
  );
}
