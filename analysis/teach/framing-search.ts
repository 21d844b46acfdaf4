/**
 * Ways to cut a recording into frames, from the bytes alone: notifications, pauses, end marks, a length byte,
 * a period. Each is only proposed here; what was typed decides.
 */
import { cut, joined, type Stream } from "./byte-stream.ts";
import { findCheck } from "./check-search.ts";
import { proposeCounted } from "./counted-search.ts";
import type { Chunk, Frame, Framing } from "./framing.ts";
import { proposePeriods } from "./period-search.ts";

export interface FramingProposal {
  readonly framing: Framing;
  readonly frames: readonly Frame[];
  /** nats: how far-fetched this cut is */
  readonly cost: number;
  /** lines of text, or frames of bytes */
  readonly text: boolean;
}
export function proposeFramings(chunks: readonly Chunk[]): FramingProposal[] {
  const stream = joined(chunks.filter((chunk) => chunk.bytes.length > 0));
  if (stream.bytes.length < 4) return [];
  if (textShare(stream.bytes) > 0.93) {
    const lines = proposeLines(stream, chunks);
    const ended = stream.bytes.includes(10) || stream.bytes.includes(13);
    const packets = ended ? [] : proposePackets(chunks, stream, 2).map((proposal) => ({ ...proposal, text: true }));
    if (lines.length + packets.length > 0) return [...lines, ...packets];
  }
  const envelopes = proposeEnvelopes(stream, histogram(stream.bytes));
  const stuffed = proposeStuffed(stream);
  const packets = proposePackets(chunks, stream, 0);
  const alike = oneLength(chunks);
  const counted = proposeCounted(stream);
  // Reads that are all of one length are frames, and no part of one.
  const periods = proposePeriods(stream).map((proposal) =>
    alike === null || proposal.frames[0]!.bytes.length === alike ? proposal : { ...proposal, cost: proposal.cost + 4 },
  );
  return [...envelopes, ...packets, ...counted, ...stuffed, ...periods].slice(0, 14);
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
const digits = /\d/;
const latin = (bytes: Uint8Array): string => String.fromCharCode(...bytes);

function proposeLines(stream: Stream, chunks: readonly Chunk[]): FramingProposal[] {
  const counts = histogram(stream.bytes);
  const lines = counts[10]! + counts[13]! >= 3 ? [lineEnds(counts)] : [];
  const ends = lines.length === 0 || areRemarks(stream, counts) ? [...likelyEnds(stream, counts), ...lines] : lines;
  const plain = ends.map((these, i) => {
    const frames = cut(stream, these);
    const starts = new Set(stream.burstStarts);
    const aligned = chunks.length > 3 && frames.length > 0 && alignedShare(stream, these, starts) > 0.9;
    return {
      framing: {
        kind: "delimited" as const,
        ends: these,
        ...(aligned ? { aligned } : {}),
        ...(returnShare(stream, these) > markedShare ? { marked: true } : {}),
      },
      frames: aligned ? frames : frames.slice(1),
      cost: 1 + 2 * i,
      text: true,
    };
  });
  return [...proposeEnvelopes(stream, counts), ...plain];
}

/** A few marks are lost on the way. */
const markedShare = 0.9;

/** Share of the lines that end with a carriage return as well as a line feed. */
function returnShare({ bytes }: Stream, ends: readonly number[]): number {
  if (ends.length !== 1 || ends[0] !== 0x0a) return 0;
  const feeds = bytes.reduce((count, byte) => count + (byte === 0x0a ? 1 : 0), 0);
  const pairs = bytes.reduce((count, byte, i) => count + (byte === 0x0a && bytes[i - 1] === 0x0d ? 1 : 0), 0);
  return pairs / feeds;
}

const startOfText = 0x02;
const endOfText = 0x03;

/** Text between the two control characters that ASCII has for it (ECMA-48, from memory), perhaps with a check of one or two bytes behind. */
function proposeEnvelopes(stream: Stream, counts: readonly number[]): FramingProposal[] {
  const [starts, ends] = [counts[startOfText]!, counts[endOfText]!];
  if (Math.min(starts, ends) < 5 || Math.abs(starts - ends) > 0.2 * Math.max(starts, ends)) return [];
  const out: FramingProposal[] = [];
  for (const behind of [0, 1, 2]) {
    const bounds = { start: startOfText, ...(behind > 0 ? { behind } : {}) };
    const frames = cut(stream, [endOfText], bounds);
    const checked =
      behind > 0 &&
      findCheck(
        frames.map((frame) => frame.bytes),
        true,
      ) !== null;
    if (behind > 0 && !checked) continue;
    const whole = frames.filter((frame) => frame.bytes[0] === startOfText);
    // The check may be any byte.
    if (!whole.every(({ bytes }) => textShare(bytes.subarray(1, bytes.length - behind)) > 0.9)) continue;
    out.push({
      framing: { kind: "delimited", ends: [endOfText], ...bounds },
      frames: whole,
      cost: 0.5,
      text: true,
    });
  }
  return out;
}

/** Line ends that close a remark now and then, between frames that end otherwise: such lines are long, and some sign is far more frequent. */
function areRemarks({ bytes }: Stream, counts: readonly number[]): boolean {
  const lines = Math.max(counts[10]!, counts[13]!);
  const others = counts.filter((_, sign) => sign < 128 && sign !== 10 && sign !== 13 && !inNumbers(sign));
  return bytes.length > longLine * lines && Math.max(...others) > 5 * lines;
}

const longLine = 60;

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

/** An E may be the exponent's: firmware ends its lines with other signs. */
const inNumbers = (character: number): boolean => /[0-9.+\-eE ]/.test(String.fromCharCode(character));

/** A sign with which nearly all reads begin is a start: cut there, each frame would wait for the next one. */
function opens({ bytes, burstStarts }: Stream, sign: number): boolean {
  return burstStarts.length > 3 && burstStarts.filter((at) => bytes[at] === sign).length > 0.8 * burstStarts.length;
}

/** No line ends: some other sign that cuts the text into pieces of much the same length, each with a figure in it. */
function likelyEnds(stream: Stream, counts: readonly number[]): number[][] {
  const scored: { end: number; score: number }[] = [];
  const most = Math.max(...counts.filter((_, end) => end < 128 && !inNumbers(end)));
  for (let end = 0; end < 128; end++) {
    if (counts[end]! < 5 || inNumbers(end) || opens(stream, end)) continue;
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
    const pieces = stream.pauseSeconds !== null && stream.burstStarts.length < 0.9 * packets.length ? 3 : 0;
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

/** `escape`: what stands before a byte that was changed, and what it may then be (RFC 1055, RFC 1662, from memory) */
const stuffings = [
  { end: 0xc0, stuffing: "slip", escape: { by: 0xdb, to: [0xdc, 0xdd] } },
  { end: 0x7e, stuffing: "hdlc", escape: { by: 0x7d, to: [0x5d, 0x5e] } },
  { end: 0x00, stuffing: "cobs", escape: null },
] as const;

/** Nats for each escape that is as it should be, where there is no other: chance has one in 128. */
const escapeEvidence = 1.5;
const mostEscapes = 2;

function soundEscapes({ bytes }: Stream, { by, to }: { by: number; to: readonly number[] }): number {
  let sound = 0;
  for (let i = 0; i + 1 < bytes.length; i++) {
    if (bytes[i] !== by) continue;
    if (!to.includes(bytes[i + 1]!)) return 0;
    sound++;
  }
  return sound;
}

function proposeStuffed(stream: Stream): FramingProposal[] {
  const out: FramingProposal[] = [];
  for (const { end, stuffing, escape: escapes } of stuffings) {
    const frames = cut(stream, [end], { stuffing }).slice(1);
    if (frames.length < 5 || fewLengths(frames) < 0.85 || frames.every((frame) => frame.bytes.length < 3)) continue;
    if (stuffing === "cobs" && !wellStuffed(stream)) continue;
    const told = escapes ? escapeEvidence * Math.min(mostEscapes, soundEscapes(stream, escapes)) : 0;
    const marked = pairShare(stream, end, frames.length) > markedShare ? { marked: true } : {};
    const framing = { kind: "delimited" as const, ends: [end], escape: stuffing, ...marked };
    out.push({ framing, frames, cost: 3 - told, text: false });
  }
  return out;
}

/** Share of the frames that stand between two end bytes of their own: then two follow each other between frames. */
function pairShare({ bytes }: Stream, end: number, frames: number): number {
  return bytes.reduce((count, byte, i) => count + (byte === end && bytes[i - 1] === end ? 1 : 0), 0) / frames;
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
