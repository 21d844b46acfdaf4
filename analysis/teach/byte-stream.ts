/** A recording as one run of bytes with the time of each, and the pauses in it. */
import type { Chunk, Frame } from "./framing.ts";
import { type Stuffing, unescaped, withoutReturn } from "./stuffing.ts";

export interface Stream {
  readonly bytes: Uint8Array;
  /** of each byte */
  readonly seconds: Float64Array;
  /** chunk starts that follow a pause */
  readonly burstStarts: readonly number[];
  readonly pauseSeconds: number | null;
}
/** no speed of teaching is worth a megabyte: the search looks at the first part of a long recording */
const mostBytes = 60_000;
export function joined(chunks: readonly Chunk[]): Stream {
  const total = Math.min(
    mostBytes,
    chunks.reduce((sum, chunk) => sum + chunk.bytes.length, 0),
  );
  const bytes = new Uint8Array(total);
  const seconds = new Float64Array(total);
  const pauseSeconds = pauseOf(chunks);
  const burstStarts: number[] = [];
  let at = 0;
  for (const [i, chunk] of chunks.entries()) {
    if (at >= total) break;
    if (pauseSeconds === null || i === 0 || chunk.seconds - chunks[i - 1]!.seconds >= pauseSeconds)
      burstStarts.push(at);
    const taken = chunk.bytes.subarray(0, total - at);
    bytes.set(taken, at);
    seconds.fill(chunk.seconds, at, at + taken.length);
    at += taken.length;
  }
  return { bytes, seconds, burstStarts, pauseSeconds };
}

/** The clear step between the short waits inside a frame and the long ones between frames; null where there is none. */
export function pauseOf(chunks: readonly Chunk[]): number | null {
  const waits = chunks.slice(1).map((chunk, i) => Math.max(1e-3, chunk.seconds - chunks[i]!.seconds));
  if (waits.length < 8) return null;
  waits.sort((a, b) => a - b);
  let best = 2.5;
  let pause: number | null = null;
  for (let i = Math.floor(waits.length * 0.03); i < waits.length * 0.97 - 1; i++) {
    const ratio = waits[i + 1]! / waits[i]!;
    if (ratio <= best) continue;
    best = ratio;
    pause = Math.sqrt(waits[i + 1]! * waits[i]!);
  }
  return pause;
}
/** What belongs to a piece beside what stands between two end bytes; see FramingSchema. */
interface Bounds {
  readonly stuffing?: Stuffing;
  readonly start?: number;
  readonly behind?: number;
}

/** Pieces between end bytes, as they were before they were stuffed. */
export function cut(stream: Stream, ends: readonly number[], { stuffing, start, behind = 0 }: Bounds = {}): Frame[] {
  const frames: Frame[] = [];
  let from = 0;
  for (let i = 0; i + behind < stream.bytes.length; i++) {
    if (!ends.includes(stream.bytes[i]!)) continue;
    const last = i + behind;
    const began = start === undefined ? from : Math.max(from, stream.bytes.lastIndexOf(start, i - 1));
    if (i > began)
      frames.push({
        seconds: stream.seconds[last]!,
        bytes: unescaped(withoutReturn(stream.bytes.subarray(began, behind > 0 ? last + 1 : i), ends), stuffing),
      });
    from = last + 1;
    i = last;
  }
  return frames;
}
