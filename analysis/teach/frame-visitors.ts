/**
 * Frames of some other content that come in between, one at a time and always the same: a state or a name that a meter sends
 * now and then, as long as its readings and with the same check.
 */
import { holds } from "./checksum.ts";
import type { Frame, FrameKind } from "./framing.ts";

const fewestVisits = 3;
const mostShare = 0.3;
/** A visitor is no part of a state that lasts, as over-range does, and none of several kinds that take turns (our choice). */
const seldomFrames = 6;
/** Beside a step of the readings it cannot be told. */
const mostlyAlone = 0.7;
/** A reading that comes alone differs from its neighbours in a few bytes, another content in most that ever change. */
const foreignShare = 0.6;

export interface Parted {
  readonly own: readonly Frame[];
  /** one for each content */
  readonly visitors: readonly Uint8Array[];
}

/** @param frames of one length, in order */
export function partVisitors(frames: readonly Frame[]): Parted {
  const places = new Map<string, number[]>();
  for (const [i, { bytes }] of frames.entries()) {
    const key = bytes.join();
    const list = places.get(key) ?? [];
    list.push(i);
    places.set(key, list);
  }
  const away = new Set<number>();
  const visitors: Uint8Array[] = [];
  const foreign = Math.max(3, foreignShare * livingBytes(frames));
  for (const list of places.values()) {
    if (list.length < fewestVisits || list.length > mostShare * frames.length) continue;
    if (list.some((i, k) => k > 0 && i - list[k - 1]! < seldomFrames)) continue;
    if (list.filter((i) => isAlone(frames, i, foreign)).length < mostlyAlone * list.length) continue;
    for (const i of list) away.add(i);
    visitors.push(frames[list[0]!]!.bytes);
  }
  return { own: away.size === 0 ? frames : frames.filter((_, i) => !away.has(i)), visitors };
}

/** A kind for a visitor: every byte of it, and its readings' check where that holds for it too. */
export function visitorKind(bytes: Uint8Array, checks: FrameKind["checks"]): FrameKind {
  const fixed = Array.from(bytes, (byte, at): [number, number, number] => [at, 0xff, byte]);
  return { length: bytes.length, fixed, checks: checks.filter((check) => holds(check, bytes)) };
}

function livingBytes(frames: readonly Frame[]): number {
  const first = frames[0]!.bytes;
  let count = 0;
  for (let at = 0; at < first.length; at++) if (frames.some(({ bytes }) => bytes[at] !== first[at])) count++;
  return count;
}

/** Whether the frames before and behind agree with each other in far more bytes than either does with this one. */
function isAlone(frames: readonly Frame[], i: number, foreign: number): boolean {
  const [before, here, behind] = [frames[i - 1], frames[i]!, frames[i + 1]];
  if (!before || !behind) return i === 0 || i === frames.length - 1;
  const apart = differing(before.bytes, behind.bytes);
  if (Math.min(differing(before.bytes, here.bytes), differing(behind.bytes, here.bytes)) < apart + foreign)
    return false;
  return !carries(before.bytes, here.bytes);
}

/** A count that goes on by little, under nought or over a full byte, changes all its bytes; a check changes with it. */
const fewCounts = 16;
const widestCount = 8;
const checkBytes = 2;

function carries(a: Uint8Array, b: Uint8Array): boolean {
  for (let from = 0; from + 1 < a.length; from++) {
    for (let to = from + 2; to <= Math.min(a.length, from + widestCount); to++) {
      const beside = differing(a, b) - differing(a.subarray(from, to), b.subarray(from, to));
      if (beside <= checkBytes && isNextCount(a.subarray(from, to), b.subarray(from, to))) return true;
    }
  }
  return false;
}

function isNextCount(a: Uint8Array, b: Uint8Array): boolean {
  const turn = 256 ** a.length;
  const near = (x: number) => Math.min((x + turn) % turn, (turn - x) % turn) <= fewCounts;
  const low = (bytes: Uint8Array) => bytes.reduceRight((sum, byte) => sum * 256 + byte, 0);
  const high = (bytes: Uint8Array) => bytes.reduce((sum, byte) => sum * 256 + byte, 0);
  return a[0] !== b[0] && a.at(-1) !== b.at(-1) && (near(low(a) - low(b)) || near(high(a) - high(b)));
}

function differing(a: Uint8Array, b: Uint8Array): number {
  let count = 0;
  for (let at = 0; at < a.length; at++) if (a[at] !== b[at]) count++;
  return count;
}
