/**
 * Ways to cut a recording into frames, from the bytes alone: notifications, pauses, end marks, a length byte,
 * a period. Each is only proposed here; what was typed decides.
 */
import { type Chunk, type Frame, type Framing, type Stuffing, unescaped, withoutReturn } from "./framing.ts";

export interface FramingProposal {
  readonly framing: Framing;
  readonly frames: readonly Frame[];
  /** nats: how far-fetched this cut is */
  readonly cost: number;
  /** lines of text, or frames of bytes */
  readonly text: boolean;
}

interface Stream {
  readonly bytes: Uint8Array;
  /** of each byte */
  readonly seconds: Float64Array;
  /** chunk starts that follow a pause */
  readonly burstStarts: readonly number[];
  readonly pauseSeconds: number | null;
}

const longestFrame = 96;
/** no speed of teaching is worth a megabyte: the search looks at the first part of a long recording */
const mostBytes = 60_000;

export function proposeFramings(chunks: readonly Chunk[]): FramingProposal[] {
  const stream = joined(chunks.filter((chunk) => chunk.bytes.length > 0));
  if (stream.bytes.length < 4) return [];
  if (textShare(stream.bytes) > 0.93) {
    const lines = proposeLines(stream, chunks);
    const ended = stream.bytes.includes(10) || stream.bytes.includes(13);
    const packets = ended ? [] : proposePackets(chunks, stream, 2).map((proposal) => ({ ...proposal, text: true }));
    if (lines.length > 0) return [...lines, ...packets];
  }
  const stuffed = proposeStuffed(stream);
  const packets = proposePackets(chunks, stream, 0);
  const alike = oneLength(chunks);
  const counted = proposeCounted(stream);
  // Reads that are all of one length are frames, and no part of one.
  const periods = proposePeriods(stream).map((proposal) =>
    alike === null || proposal.frames[0]!.bytes.length === alike ? proposal : { ...proposal, cost: proposal.cost + 4 },
  );
  return [...packets, ...counted, ...stuffed, ...periods].slice(0, 14);
}

function joined(chunks: readonly Chunk[]): Stream {
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

function textShare(bytes: Uint8Array): number {
  let text = 0;
  for (const byte of bytes)
    if (
      (byte >= 0x20 && byte < 0x7f) ||
      (byte > 0x01 && byte < 0x04) ||
      byte === 0x0a ||
      byte === 0x0d ||
      byte === 0x09
    )
      text++;
  return text / bytes.length;
}

function cut(stream: Stream, ends: readonly number[], stuffing?: Stuffing): Frame[] {
  const frames: Frame[] = [];
  let from = 0;
  for (let i = 0; i < stream.bytes.length; i++) {
    if (!ends.includes(stream.bytes[i]!)) continue;
    if (i > from)
      frames.push({
        seconds: stream.seconds[i]!,
        bytes: unescaped(withoutReturn(stream.bytes.subarray(from, i), ends), stuffing),
      });
    from = i + 1;
  }
  return frames;
}

const digits = /\d/;
const latin = (bytes: Uint8Array): string => String.fromCharCode(...bytes);

function proposeLines(stream: Stream, chunks: readonly Chunk[]): FramingProposal[] {
  const counts = histogram(stream.bytes);
  const ends = counts[10]! + counts[13]! >= 3 ? [lineEnds(counts)] : likelyEnds(stream, counts);
  return ends.map((these, i) => {
    const frames = cut(stream, these);
    const starts = new Set(stream.burstStarts);
    const aligned = chunks.length > 3 && frames.length > 0 && alignedShare(stream, these, starts) > 0.9;
    return {
      framing: { kind: "delimited", ends: these, ...(aligned ? { aligned } : {}) },
      frames: aligned ? frames : frames.slice(1),
      cost: 1 + 2 * i,
      text: true,
    };
  });
}

/** Line feeds alone where each has its carriage return before it, whichever of the two there is, or both. */
function lineEnds(counts: readonly number[]): number[] {
  if (counts[10]! >= 3 && Math.abs(counts[10]! - counts[13]!) <= 1 + 0.05 * counts[10]!) return [10];
  return [10, 13].filter((end) => counts[end]! > 0);
}

function alignedShare(stream: Stream, ends: readonly number[], starts: ReadonlySet<number>): number {
  let after = 0;
  for (const start of starts) if (start === 0 || ends.includes(stream.bytes[start - 1]!)) after++;
  return after / starts.size;
}

const inNumbers = (character: number): boolean => /[0-9.+\- ]/.test(String.fromCharCode(character));

/** No line ends: some other sign that cuts the text into pieces of much the same length, each with a figure in it. */
function likelyEnds(stream: Stream, counts: readonly number[]): number[][] {
  const scored: { end: number; score: number }[] = [];
  const most = Math.max(...counts.filter((_, end) => end < 128 && !inNumbers(end)));
  for (let end = 0; end < 128; end++) {
    if (counts[end]! < 5 || inNumbers(end)) continue;
    const frames = cut(stream, [end]).slice(1);
    const withFigure = frames.filter((frame) => digits.test(latin(frame.bytes))).length / frames.length;
    if (!(withFigure > 0.4) || counts[end]! < 0.3 * most) continue;
    const lengths = frames.map((frame) => frame.bytes.length);
    const mean = lengths.reduce((a, b) => a + b, 0) / lengths.length;
    const spread = Math.sqrt(lengths.reduce((sum, length) => sum + (length - mean) ** 2, 0) / lengths.length) / mean;
    scored.push({ end, score: spread - (alignedShare(stream, [end], new Set(stream.burstStarts)) > 0.8 ? 1 : 0) });
  }
  return scored
    .sort((a, b) => a.score - b.score)
    .slice(0, 3)
    .map(({ end }) => [end]);
}

function proposePackets(chunks: readonly Chunk[], stream: Stream, extraCost: number): FramingProposal[] {
  const out: FramingProposal[] = [];
  const packets = chunks.filter((chunk) => chunk.bytes.length > 0).slice(0, 20_000);
  if (packets.length >= 3 && fewLengths(packets) > 0.85) {
    // Reads that come several at a time are pieces of what was sent.
    const pieces = stream.pauseSeconds !== null && stream.burstStarts.length < 0.7 * packets.length ? 3 : 0;
    out.push({ framing: { kind: "packet" }, frames: packets, cost: 1 + extraCost + pieces, text: false });
  }
  if (stream.pauseSeconds !== null) {
    const bursts = stream.burstStarts.map((from, i) => {
      const to = stream.burstStarts[i + 1] ?? stream.bytes.length;
      return { seconds: stream.seconds[to - 1]!, bytes: stream.bytes.slice(from, to) };
    });
    if (bursts.length < packets.length && fewLengths(bursts) > 0.7) {
      out.push({
        framing: { kind: "pause", seconds: stream.pauseSeconds },
        frames: bursts,
        cost: 2.5 + extraCost,
        text: false,
      });
    }
  }
  return out;
}

/** The length that nearly all reads have; null where they differ. */
function oneLength(chunks: readonly Chunk[]): number | null {
  const lengths = chunks.map((chunk) => chunk.bytes.length).filter((length) => length > 0);
  const common = [...lengths].sort((a, b) => a - b)[lengths.length >> 1] ?? 0;
  return common > 2 && lengths.filter((length) => length === common).length > 0.95 * lengths.length ? common : null;
}

/** Share of the frames that have one of the four commonest lengths. */
function fewLengths(frames: readonly Frame[]): number {
  const counts = new Map<number, number>();
  for (const { bytes } of frames) counts.set(bytes.length, (counts.get(bytes.length) ?? 0) + 1);
  const common = [...counts.values()].sort((a, b) => b - a).slice(0, 4);
  return common.reduce((a, b) => a + b, 0) / frames.length;
}

function histogram(bytes: Uint8Array): number[] {
  const counts = new Array<number>(256).fill(0);
  for (const byte of bytes) counts[byte]!++;
  return counts;
}

const stuffings = [
  { end: 0xc0, stuffing: "slip" },
  { end: 0x7e, stuffing: "hdlc" },
  { end: 0x00, stuffing: "cobs" },
] as const;

function proposeStuffed(stream: Stream): FramingProposal[] {
  const out: FramingProposal[] = [];
  for (const { end, stuffing } of stuffings) {
    const frames = cut(stream, [end], stuffing).slice(1);
    if (frames.length < 5 || fewLengths(frames) < 0.85 || frames.every((frame) => frame.bytes.length < 3)) continue;
    if (stuffing === "cobs" && !wellStuffed(stream)) continue;
    out.push({ framing: { kind: "delimited", ends: [end], escape: stuffing }, frames, cost: 3, text: false });
  }
  return out;
}

/** In consistent overhead byte stuffing each code leads to the next and the last one to the end. */
function wellStuffed(stream: Stream): boolean {
  const raw = cut(stream, [0]);
  const good = raw.filter(({ bytes }) => {
    let at = 0;
    while (at < bytes.length) at += bytes[at]!;
    return at === bytes.length;
  });
  return good.length > 0.8 * raw.length;
}

/** Start marks of one to three bytes: what stands first after pauses, else what stands often. */
function startMarks(stream: Stream): number[][] {
  const marks = new Map<string, number>();
  const places = stream.pauseSeconds !== null ? stream.burstStarts : [...stream.bytes.keys()];
  for (const at of places) {
    for (const size of [1, 2]) {
      const key = stream.bytes.subarray(at, at + size).join(",");
      marks.set(key, (marks.get(key) ?? 0) + 1);
    }
  }
  const often = [...marks].filter(([, count]) => count >= 4).sort((a, b) => b[1] - a[1] || b[0].length - a[0].length);
  return often.slice(0, 24).map(([key]) => key.split(",").map(Number));
}

function proposeCounted(stream: Stream): FramingProposal[] {
  const found: (FramingProposal & { covered: number })[] = [];
  for (const start of startMarks(stream)) {
    for (let lengthAt = start.length; lengthAt <= start.length + 4; lengthAt++) {
      for (let add = 0; add <= 9; add++) {
        const chain = countedChain(stream, start, lengthAt, add + (add > 0 ? lengthAt - start.length : 0));
        if (chain) found.push(chain);
      }
    }
  }
  found.sort((a, b) => b.covered - a.covered || a.cost - b.cost);
  return found.slice(0, 2);
}

function countedChain(stream: Stream, start: readonly number[], lengthAt: number, add: number) {
  const { bytes } = stream;
  const begins = (at: number) => start.every((byte, i) => bytes[at + i] === byte);
  const frames: Frame[] = [];
  const lengths = new Set<number>();
  let covered = 0;
  let tried = 0;
  for (let at = 0; at + lengthAt < bytes.length; ) {
    const length = bytes[at + lengthAt]! + add;
    const end = at + length;
    const whole = begins(at) && length > lengthAt && length <= longestFrame && (end >= bytes.length - 3 || begins(end));
    if (!whole || end > bytes.length) {
      at++;
      if (++tried > 600 && covered < 0.3 * at) return null;
      continue;
    }
    frames.push({ seconds: stream.seconds[end - 1]!, bytes: bytes.slice(at, end) });
    lengths.add(length);
    covered += length;
    at = end;
  }
  if (covered < 0.88 * bytes.length || lengths.size < 2 || frames.length < 6) return null;
  const longest = Math.max(...lengths);
  const framing: Framing = { kind: "counted", start: [...start], lengthAt, add, longest };
  return {
    framing,
    frames,
    cost: 3 - 0.3 * start.length + (start[0] === 0 ? 3 : 0),
    text: false,
    covered: covered / bytes.length,
  };
}

/** Frames of one length: where bytes (or their upper bits) come again after it. */
function proposePeriods(stream: Stream): FramingProposal[] {
  const { bytes } = stream;
  const sample = Math.min(bytes.length, 6000);
  const again: number[] = [];
  for (let period = 2; period <= longestFrame && period < sample / 4; period++) {
    let same = 0;
    for (let i = 0; i + period < sample; i++) {
      const unlike = bytes[i]! ^ bytes[i + period]!;
      same += unlike === 0 ? 1 : unlike < 16 ? 0.5 : 0;
    }
    again[period] = same / (sample - period);
  }
  const periods = [...again.keys()].filter((p) => p >= 2).sort((a, b) => again[b]! - again[a]!);
  const chosen: number[] = [];
  for (const period of periods.slice(0, 12)) {
    if (chosen.length >= 3) break;
    // A multiple of a shorter period tells nothing new.
    const shorter = periods.find((p) => p < period && period % p === 0 && again[p]! > again[period]! - 0.06);
    const take = shorter ?? period;
    if (!chosen.includes(take)) chosen.push(take);
  }
  return chosen.flatMap((period) => periodic(stream, period));
}

interface Anchor {
  readonly mask: number;
  readonly value: number;
  readonly pairs: number;
  readonly spurious: number;
}

function periodic(stream: Stream, period: number): FramingProposal[] {
  const anchor = bestAnchor(stream.bytes, period);
  if (!anchor) return [];
  const chain = anchorChain(stream.bytes, period, anchor);
  if (chain.length < 5 || chain.length * period < 0.5 * stream.bytes.length) return [];
  return rotations(stream, period, chain).map((rotation, i) => ({
    framing: { kind: "fixed" },
    frames: framesFrom(stream, period, chain, rotation),
    cost: 2.5 + 1.2 * i,
    text: false,
  }));
}

/** A byte, or its upper bits, that comes again after one period more surely than any other. */
function bestAnchor(bytes: Uint8Array, period: number): Anchor | null {
  let best: Anchor | null = null;
  for (const mask of [0xff, 0xf0, 0x80]) {
    const total = new Array<number>(256).fill(0);
    const pairs = new Array<number>(256).fill(0);
    for (let i = 0; i < bytes.length; i++) {
      const value = bytes[i]! & mask;
      total[value]!++;
      if (i + period < bytes.length && (bytes[i + period]! & mask) === value) pairs[value]!++;
    }
    const frames = bytes.length / period;
    for (let value = 0; value < 256; value++) {
      if (pairs[value]! < 0.6 * frames) continue;
      const spurious = Math.max(0, total[value]! - frames);
      const quality = (a: Anchor) => a.pairs - 1.5 * a.spurious - (a.mask === 0xff ? 0 : 0.05 * frames);
      const anchor = { mask, value, pairs: pairs[value]!, spurious };
      if (!best || quality(anchor) > quality(best)) best = anchor;
    }
  }
  return best;
}

/** Places of the anchor that keep step with each other. */
function anchorChain(bytes: Uint8Array, period: number, { mask, value }: Anchor): number[] {
  const is = (at: number) => at >= 0 && at < bytes.length && (bytes[at]! & mask) === value;
  const chain: number[] = [];
  for (let at = 0; at < bytes.length; ) {
    if (is(at) && (is(at + period) || chain.at(-1) === at - period)) {
      chain.push(at);
      at += period;
    } else at++;
  }
  return chain;
}

/** Where in the period the frame begins: after pauses, else where reads begin, else at the start of each constant run. */
function rotations(stream: Stream, period: number, chain: readonly number[]): number[] {
  const votes = new Array<number>(period).fill(0);
  let link = 0;
  for (const start of stream.burstStarts) {
    while (link + 1 < chain.length && chain[link + 1]! <= start) link++;
    votes[(((start - chain[link]!) % period) + period) % period]!++;
  }
  const order = [...votes.keys()].sort((a, b) => votes[b]! - votes[a]!);
  if (votes[order[0]!]! > 0.5 * stream.burstStarts.length) return [order[0]!];
  const steady = Array.from({ length: period }, (_, i) => steadyShare(stream.bytes, chain, i) > 0.95);
  const starts = order
    .filter((i) => steady[i] && !steady[(i + period - 1) % period])
    .map((i) => likeliestOf(run(steady, i), votes));
  return (starts.length > 0 ? starts : order).slice(0, 5);
}

/** Places of a run of constant bytes: an end mark and the start mark behind it make one run. */
function run(steady: readonly boolean[], from: number): number[] {
  const places = [from];
  for (let i = (from + 1) % steady.length; steady[i] && i !== from; i = (i + 1) % steady.length) places.push(i);
  return places;
}

const likeliestOf = (places: readonly number[], votes: readonly number[]): number =>
  places.reduce((best, place) => (votes[place]! > 1.5 * votes[best]! + 2 ? place : best));

function steadyShare(bytes: Uint8Array, chain: readonly number[], offset: number): number {
  const counts = new Map<number, number>();
  for (const at of chain) counts.set(bytes[at + offset]!, (counts.get(bytes[at + offset]!) ?? 0) + 1);
  return Math.max(...counts.values()) / chain.length;
}

function framesFrom(stream: Stream, period: number, chain: readonly number[], rotation: number): Frame[] {
  const frames: Frame[] = [];
  for (const anchor of chain) {
    const from = anchor + rotation - (rotation > 0 ? period : 0);
    const to = from + period;
    if (from >= 0 && to <= stream.bytes.length)
      frames.push({ seconds: stream.seconds[to - 1]!, bytes: stream.bytes.slice(from, to) });
  }
  return frames;
}
