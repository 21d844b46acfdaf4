/**
 * Where one frame ends and the next begins. Bytes go in as they arrive, cut anywhere; sound frames come out, and a mark
 * for every stretch that was none. It finds its way back after loss by the frames' own fixed bits and checks.
 */
import * as v from "valibot";
import { type Check, CheckSchema, holds } from "./checksum.ts";
import { StuffingSchema, unescaped, withoutReturn } from "./stuffing.ts";

const byte = v.pipe(v.number(), v.integer(), v.minValue(0), v.maxValue(255));
const size = v.pipe(v.number(), v.integer(), v.minValue(1), v.maxValue(4096));

export const FramingSchema = v.variant("kind", [
  /** every notification or read is one frame */
  v.object({ kind: v.literal("packet") }),
  /** a pause this long ends a frame */
  v.object({ kind: v.literal("pause"), seconds: v.pipe(v.number(), v.gtValue(0)) }),
  /** an end byte, any of several; a carriage return before a line feed belongs to the end; `escape`: how that byte is sent where it stands in the data */
  v.object({
    kind: v.literal("delimited"),
    ends: v.pipe(v.array(byte), v.minLength(1)),
    escape: v.optional(StuffingSchema),
    /** a byte that only ever begins a frame: what stands before it is not part of the frame */
    start: v.optional(byte),
    /** so many bytes behind the end byte belong to the frame, a check: then the end byte is part of it too */
    behind: v.optional(v.pipe(v.number(), v.integer(), v.minValue(1), v.maxValue(4))),
    /** a frame without all its marks is damaged: the carriage return before its line feed, the end byte before it as well as behind */
    marked: v.optional(v.boolean()),
    /** reads begin where frames begin, so that the very first can be trusted */
    aligned: v.optional(v.boolean()),
  }),
  /** a start mark and, `lengthAt` bytes on, the frame's length less `add` */
  v.object({
    kind: v.literal("counted"),
    start: v.pipe(v.array(byte), v.minLength(1)),
    lengthAt: v.pipe(v.number(), v.integer(), v.minValue(0), v.maxValue(63)),
    add: v.pipe(v.number(), v.integer()),
    longest: size,
  }),
  /** each kind of frame has its own length and is known by its fixed bits */
  v.object({ kind: v.literal("fixed") }),
]);
export type Framing = v.InferOutput<typeof FramingSchema>;

export const FrameKindSchema = v.object({
  length: v.optional(size),
  atLeast: v.optional(size),
  /** bits that are always the same: [byte, mask, value] */
  fixed: v.array(v.tuple([v.pipe(v.number(), v.integer(), v.minValue(0)), byte, byte])),
  checks: v.array(CheckSchema),
  /** hexadecimal figures from this place on stand for bytes; they are put together before anything else is read */
  hexadecimalFrom: v.optional(v.pipe(v.number(), v.integer(), v.minValue(0))),
});
export type FrameKind = v.InferOutput<typeof FrameKindSchema>;

export interface Chunk {
  readonly seconds: number;
  readonly bytes: Uint8Array;
}

export interface Frame {
  /** when its last byte came */
  readonly seconds: number;
  readonly bytes: Uint8Array;
}

/** -1: damaged; otherwise the index of the kind that it is. */
export interface Sorted extends Frame {
  readonly kind: number;
}

export function isKind(kind: FrameKind, frame: Uint8Array): boolean {
  if (kind.length !== undefined && frame.length !== kind.length) return false;
  if (kind.atLeast !== undefined && frame.length < kind.atLeast) return false;
  return fits(kind, frame, 0, frame.length) && kind.checks.every((check: Check) => holds(check, frame));
}

/** Whether the fixed bits that have arrived are right. */
function fits(kind: FrameKind, bytes: Uint8Array, from: number, to: number): boolean {
  for (const [at, mask, value] of kind.fixed) {
    if (from + at < to && (bytes[from + at]! & mask) !== value) return false;
  }
  return true;
}

/** One stream's way through; keeps what has not made a frame yet. */
export class Framer {
  readonly #framing: Framing;
  readonly #kinds: readonly FrameKind[];
  readonly #guarded: boolean;
  #held = new Uint8Array(0);
  #heldSeconds: number[] = [];
  #skipped = 0;
  #skippedSeconds = 0;
  #started = false;
  /** an end byte has come that stands before the next frame, and behind no other */
  #opened = false;

  constructor(framing: Framing, kinds: readonly FrameKind[]) {
    this.#framing = framing;
    this.#kinds = kinds;
    this.#guarded = kinds.every((kind) => kind.checks.length > 0);
  }

  push(chunk: Chunk): Sorted[] {
    switch (this.#framing.kind) {
      case "packet":
        return chunk.bytes.length > 0 ? [this.#sort({ seconds: chunk.seconds, bytes: chunk.bytes })] : [];
      case "pause":
        return this.#pushPaused(chunk, this.#framing.seconds);
      case "delimited":
        this.#hold(chunk);
        return this.#cutAtEnds(this.#framing);
      default:
        this.#hold(chunk);
        return this.#cutByKind();
    }
  }

  /** What is left once nothing more comes; a frame that was still coming is none. */
  end(): Sorted[] {
    const out: Sorted[] = [];
    this.#closeSkipped(out);
    if (this.#framing.kind !== "pause" || this.#held.length === 0) return out;
    return [this.#sort({ seconds: this.#heldSeconds.at(-1)!, bytes: this.#take(this.#held.length) })];
  }

  #hold({ seconds, bytes }: Chunk): void {
    const joined = new Uint8Array(this.#held.length + bytes.length);
    joined.set(this.#held);
    joined.set(bytes, this.#held.length);
    this.#held = joined;
    for (let i = 0; i < bytes.length; i++) this.#heldSeconds.push(seconds);
  }

  #take(count: number): Uint8Array {
    const taken = this.#held.slice(0, count);
    this.#held = this.#held.subarray(count);
    this.#heldSeconds.splice(0, count);
    return taken;
  }

  #sort(frame: Frame): Sorted {
    return { ...frame, kind: this.#kinds.findIndex((kind) => isKind(kind, frame.bytes)) };
  }

  #pushPaused(chunk: Chunk, seconds: number): Sorted[] {
    const last = this.#heldSeconds.at(-1);
    const done = last !== undefined && chunk.seconds - last >= seconds ? this.end() : [];
    this.#hold(chunk);
    // A whole frame that is known by its check or its length need not wait for the pause.
    const now = this.#sort({ seconds: chunk.seconds, bytes: this.#held });
    const kind = this.#kinds[now.kind];
    if (!kind || (kind.length === undefined && kind.checks.length === 0) || this.#held.length === 0) return done;
    return [...done, { ...now, bytes: this.#take(this.#held.length) }];
  }

  #cutAtEnds(framing: Extract<Framing, { kind: "delimited" }>): Sorted[] {
    const out: Sorted[] = [];
    const behind = framing.behind ?? 0;
    let from = 0;
    for (let end = 0; end + behind < this.#held.length; end++) {
      if (!framing.ends.includes(this.#held[end]!)) continue;
      const began = framing.start === undefined ? -1 : this.#held.lastIndexOf(framing.start, end - 1);
      const last = end + behind;
      const raw = this.#held.subarray(Math.max(from, began), behind > 0 ? last + 1 : end);
      const seconds = this.#heldSeconds[last]!;
      // Another frame had begun, and its end never came.
      if (began > from && this.#held.subarray(from, began).includes(framing.start!)) {
        out.push({ seconds, bytes: new Uint8Array(0), kind: -1 });
      }
      from = last + 1;
      end = last;
      if (raw.length === 0) {
        this.#started = true;
        this.#opened = true;
        continue;
      }
      const whole = this.#hasMarks(framing, raw, this.#held[last + 1]);
      const bytes = unescaped(withoutReturn(raw, framing.ends), framing.escape);
      const sorted = whole ? this.#sort({ seconds, bytes }) : { seconds, bytes, kind: -1 };
      // The first piece may lack its beginning: only a check or the reads' own cut can vouch for it.
      const doubtful = !this.#started && !framing.aligned && began < 0 && !this.#guarded;
      const broken = !this.#started && !framing.aligned && began < 0 && sorted.kind < 0;
      this.#started = true;
      if (!doubtful && !broken) out.push(sorted);
    }
    this.#take(from);
    return out;
  }

  /** @param next what has come behind the end byte: where it is no other end byte, this one was the next frame's own */
  #hasMarks(framing: Extract<Framing, { kind: "delimited" }>, raw: Uint8Array, next: number | undefined): boolean {
    if (framing.marked !== true) return true;
    if (framing.escape === undefined) return raw.at(-1) === 0x0d;
    const opened = this.#opened;
    const closed = next === undefined || framing.ends.includes(next);
    this.#opened = !closed;
    return opened && closed;
  }

  #cutByKind(): Sorted[] {
    const out: Sorted[] = [];
    let at = 0;
    for (;;) {
      const found = this.#frameAt(at);
      if (found === "wait") break;
      if (found === null) {
        this.#skipped++;
        this.#skippedSeconds = this.#heldSeconds[at]!;
        at++;
        continue;
      }
      this.#closeSkipped(out);
      this.#started = true;
      out.push({
        seconds: this.#heldSeconds[at + found.length - 1]!,
        bytes: this.#held.slice(at, at + found.length),
        kind: found.kind,
      });
      at += found.length;
    }
    this.#take(at);
    return out;
  }

  /** A stretch that was no frame; before the first frame it is only where we came in. */
  #closeSkipped(out: Sorted[]): void {
    if (this.#skipped > 0 && this.#started)
      out.push({ seconds: this.#skippedSeconds, bytes: new Uint8Array(0), kind: -1 });
    this.#skipped = 0;
  }

  #frameAt(at: number): { length: number; kind: number } | "wait" | null {
    let waiting = at >= this.#held.length;
    for (const [index, kind] of this.#kinds.entries()) {
      const length = this.#lengthAt(at, kind);
      if (length === null) continue;
      const end = at + (length || 1);
      if (!fits(kind, this.#held, at, Math.min(this.#held.length, length ? end : this.#held.length))) continue;
      if (length === 0 || end > this.#held.length) {
        waiting = true;
        continue;
      }
      if (!isKind(kind, this.#held.subarray(at, end))) continue;
      if (kind.checks.some(strong) || this.#followed(end)) return { length, kind: index };
      // Its check holds: this is no middle that we came into, but harm, and is counted.
      if (kind.checks.length > 0) this.#started = true;
    }
    return waiting ? "wait" : null;
  }

  /** null: no frame of this kind begins here; 0: the length has not arrived. */
  #lengthAt(at: number, kind: FrameKind): number | null {
    if (this.#framing.kind !== "counted") return kind.length ?? null;
    const { start, lengthAt, add, longest } = this.#framing;
    for (let i = 0; i < start.length; i++) {
      if (at + i < this.#held.length && this.#held[at + i] !== start[i]) return null;
    }
    if (at + lengthAt >= this.#held.length) return 0;
    const length = this.#held[at + lengthAt]! + add;
    if (length <= lengthAt || length > longest) return null;
    return kind.length !== undefined && kind.length !== length ? null : length;
  }

  /**
   * Without a strong check, what has come behind a frame must look like the start of another: a byte sent twice inside a
   * frame can leave its sum right. What has not come yet is not waited for.
   */
  #followed(end: number): boolean {
    return this.#kinds.some((kind) => fits(kind, this.#held, end, Math.min(this.#held.length, end + markBytes(kind))));
  }
}

/** Sums and exclusive-or of eight bits miss one harm in a hundred or so. */
const strong = (check: Check): boolean => check.bits === 16 || check.kind === "crc";

/** As many bytes as it takes to know a frame's beginning: a dozen fixed bits (our choice). */
function markBytes(kind: FrameKind): number {
  let bits = 0;
  for (const [at, mask] of [...kind.fixed].sort((a, b) => a[0] - b[0])) {
    for (let left = mask; left > 0; left &= left - 1) bits++;
    if (bits >= 12) return at + 1;
  }
  return kind.length ?? 4;
}
