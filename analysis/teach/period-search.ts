/** Frames of one length without a pause between them: where bytes (or their upper bits) come again after it. */
import type { Stream } from "./byte-stream.ts";
import { findCheck } from "./check-search.ts";
import type { Frame } from "./framing.ts";
import type { FramingProposal } from "./framing-search.ts";

const longestFrame = 96;

/** A period after which fewer bytes come again than after another is none (share). */
const nearlyAsOften = 0.75;

/** Frames of one length: where bytes (or their upper bits) come again after it. */
export function proposePeriods(stream: Stream): FramingProposal[] {
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
    if (chosen.length >= 3 || again[period]! < nearlyAsOften * again[periods[0]!]!) break;
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
  const anchored = anchorChain(stream.bytes, period, anchor);
  if (anchored.length < 5 || anchored.length * period < 0.5 * stream.bytes.length) return [];
  const chain = toBothEnds(stream.bytes, withoutGaps(anchored, period), period);
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

/** Where the anchor stays away and comes back in step, what stands between are frames too: a flag has changed its byte. */
function withoutGaps(chain: readonly number[], period: number): number[] {
  const out: number[] = [];
  for (const at of chain) {
    const last = out.at(-1);
    if (last !== undefined && (at - last) % period === 0)
      for (let between = last + period; between < at; between += period) out.push(between);
    out.push(at);
  }
  return out;
}

/** Where the anchor has changed for good before the first place or behind the last, frames that are much like their neighbours go on. */
function toBothEnds(bytes: Uint8Array, chain: readonly number[], period: number): number[] {
  const out = [...chain];
  while (alikeShare(bytes, out[0]!, out[0]! - period, period) >= muchAlike) out.unshift(out[0]! - period);
  while (alikeShare(bytes, out.at(-1)!, out.at(-1)! + period, period) >= muchAlike) out.push(out.at(-1)! + period);
  return out;
}

const muchAlike = 0.5;

function alikeShare(bytes: Uint8Array, a: number, b: number, period: number): number {
  if (b < 0 || b + period > bytes.length || a + period > bytes.length) return 0;
  let alike = 0;
  for (let i = 0; i < period; i++) if (bytes[a + i]! >> 4 === bytes[b + i]! >> 4) alike++;
  return alike / period;
}

/** A read begins with nearly every frame that comes after a wait, and elsewhere as the line happens to be read (our choice). */
const alwaysShare = 0.9;
const clearly = 0.8;

/** Where in the period the frame begins: after pauses, else where reads begin, else as a check has it or where a constant run starts. */
function rotations(stream: Stream, period: number, chain: readonly number[]): number[] {
  const votes = new Array<number>(period).fill(0);
  let link = 0;
  for (const start of stream.burstStarts) {
    while (link + 1 < chain.length && chain[link + 1]! <= start) link++;
    votes[(((start - chain[link]!) % period) + period) % period]!++;
  }
  const order = [...votes.keys()].sort((a, b) => votes[b]! - votes[a]!);
  const [most, second] = [votes[order[0]!]!, votes[order[1]!] ?? 0];
  if (most > 0.5 * stream.burstStarts.length) return [order[0]!];
  if (most > alwaysShare * chain.length && second < clearly * most) return [order[0]!];
  const checked = order.filter((rotation) => isChecked(stream, period, chain, rotation));
  const steady = Array.from({ length: period }, (_, i) => steadyShare(stream.bytes, chain, i) > 0.95);
  const starts = order
    .filter((i) => steady[i] && !steady[(i + period - 1) % period])
    .map((i) => likeliestOf(run(steady, i), votes))
    .sort((a, b) => votes[b]! - votes[a]!);
  return [...new Set([...checked, ...(starts.length > 0 ? starts : order)])].slice(0, 5);
}

/** A check at so long a period costs more to seek than it can tell. */
const longestChecked = 40;
const fewFrames = 60;

/** Frames cut a byte off do not come right. */
function isChecked(stream: Stream, period: number, chain: readonly number[], rotation: number): boolean {
  if (period > longestChecked) return false;
  const frames = framesFrom(stream, period, chain.slice(0, fewFrames), rotation).map(({ bytes }) => bytes);
  const check = findCheck(frames, false);
  return check !== null && check.uncovered === check.bits / 8;
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
