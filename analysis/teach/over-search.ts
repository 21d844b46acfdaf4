/** How frames say over-range: by a bit, by a number that is none, or by one past the display's last count. */
import { type BitTrack, flagOf } from "./flag-search.ts";
import type { Flag } from "./recipe.ts";

export interface OverProposal {
  readonly flags: readonly Flag[];
  readonly codes: readonly number[];
  /** nats */
  readonly cost: number;
  /** typed over-range values without a frame that says so */
  readonly unexplained: number;
}

/** One way to say over-range is enough for a meter: another beside one that was seen is far-fetched (nats). */
const anotherCost = 5;
/** A level that stands still on just the number past the last display count is seldom a measured one (nats). */
const fullEvidence = 3;
/** All bits set is a last count below nought, or what firmware sends for none: it seldom stands for long (nats). */
const onesCost = 2.5;
const longStay = 4;

function stays(raw: Float64Array, value: number): boolean {
  let run = 0;
  for (const x of raw) {
    run = x === value ? run + 1 : 0;
    if (run >= longStay) return true;
  }
  return false;
}

/** Nats against an end code that comes beside nought alone, for a moment or again and again: there a signed number goes under it. */
const wrapCost = 4;
const besideNought = 10;

function wrapsUnderNought(raw: Float64Array, code: number): boolean {
  const near = (x: number) => x <= besideNought || x >= code - besideNought;
  let comes = 0;
  for (let i = 0; i < raw.length; i++) {
    if (raw[i] !== code) continue;
    if (raw[i - 1] !== code) comes++;
    if (!near(raw[i - 1] ?? code) || !near(raw[i + 1] ?? code)) return false;
  }
  return comes > 1 || !stays(raw, code);
}

/** What an over-range nobody can see costs. */
const unexplainedCost = 8;

/**
 * @param raw by frame, as the coding reads it; NaN or Infinity: no number stands there
 * @param matched for each typed number the frames that show it: one of each must stay a number
 * @param windows for each typed over-range, the frames around it
 * @param topCodes raw numbers that the coding's own limits make special
 * @param fullCode the number that the display's counts are one short of, where the stream stops there
 */
export function overProposals(
  raw: Float64Array,
  bits: readonly BitTrack[],
  matched: readonly (readonly number[])[],
  windows: readonly (readonly number[])[],
  topCodes: readonly number[],
  fullCode: number | null,
): OverProposal[] {
  const typed = new Set(matched.flatMap((frames) => frames.map((frame) => raw[frame]!)));
  const codes = topCodes.filter((code) => raw.includes(code) && !typed.has(code));
  const says = (frame: number) => codes.includes(raw[frame]!) || !Number.isFinite(raw[frame]!);
  const open = windows.filter((frames) => !frames.some(says));
  const another = windows.length > open.length ? anotherCost : 0;
  const wraps = codes.some((code) => code > 0 && wrapsUnderNought(raw, code)) ? wrapCost : 0;
  const out: OverProposal[] = [
    { flags: [], codes, cost: unexplainedCost * open.length + wraps, unexplained: open.length },
  ];
  for (const track of bits) {
    for (const equals of [1, 0]) {
      const evidence = freezing(raw, track, equals, matched, open, says);
      if (evidence === null) continue;
      const missed = open.filter((frames) => !frames.some((frame) => track.values[frame] === equals)).length;
      const cost = 1.5 + another + unexplainedCost * missed - evidence + (equals ? 0 : 0.5) + track.busy + wraps;
      out.push({ flags: [flagOf(track, equals)], codes, cost, unexplained: missed });
    }
  }
  const special = (extra: readonly number[], cost: number): OverProposal => {
    const all = [...codes, ...extra];
    const untold = open.filter((frames) => !frames.some((frame) => all.includes(raw[frame]!))).length;
    return { flags: [], codes: all, cost: unexplainedCost * untold + cost + wraps, unexplained: untold };
  };
  if (fullCode !== null && !typed.has(fullCode) && !typed.has(-fullCode))
    out.push(special([fullCode, -fullCode], -fullEvidence));
  if (!typed.has(allOnes) && stays(raw, allOnes)) {
    const ones = special([allOnes], 0);
    out.push({ ...ones, cost: ones.cost + (ones.unexplained < open.length ? 0.5 : onesCost) });
  }
  const code = open.length > 0 ? commonCode(raw, typed, open) : null;
  if (code !== null) out.push({ flags: [], codes: [...codes, code], cost: 2 + wraps, unexplained: 0 });
  return out.sort((a, b) => a.cost - b.cost).slice(0, 3);
}

/**
 * Nats that a bit speaks of over-range: the number stands still at one same place in all its frames, at a top that no other
 * frame reaches or at nothing. A number that stays where it was when the bit came is held instead. null: it cannot be.
 */
function freezing(
  raw: Float64Array,
  track: BitTrack,
  equals: number,
  matched: readonly (readonly number[])[],
  open: readonly (readonly number[])[],
  says: (frame: number) => boolean,
): number | null {
  const up = (frame: number) => track.values[frame] === equals;
  const count = equals ? track.ones : raw.length - track.ones;
  if (count > 0.6 * raw.length || matched.some((frames) => frames.every(up))) return null;
  const stood = new Set<number>();
  let held = 0;
  let falls = 0;
  let edges = 0;
  let highest = 0;
  let lowest = Number.POSITIVE_INFINITY;
  let unset = true;
  for (let i = 0; i < raw.length; i++) {
    if (says(i)) continue;
    if (up(i)) {
      stood.add(Math.abs(raw[i]!));
      lowest = Math.min(lowest, Math.abs(raw[i]!));
      unset &&= raw[i] === allOnes;
    } else highest = Math.max(highest, Math.abs(raw[i]!));
    if (i === 0 || up(i) === up(i - 1)) continue;
    edges++;
    if (up(i) && raw[i] === raw[i - 1]) held += raw[i] === 0 ? heldAtNought : 1;
    else if (up(i) && raw[i] === 0) falls++;
  }
  const told = open.filter((frames) => frames.some(up)).length;
  if (told === 0 && (count < 2 || edges === 0)) return null;
  if (told === 0 && stood.size !== 1) {
    const outgrown = open.length === 0 && stood.size > 1 && lowest > highest;
    return outgrown ? -outgrownCost - seldom * (count / raw.length) : null;
  }
  const [still] = stood;
  const frozen =
    stood.size !== 1
      ? stood.size === 0
        ? 0
        : -2
      : stillEvidence(still!, highest, unset && count > steadyFrames * edges) +
        fallEvidence * Math.max(0, Math.min(mostFalls, falls - 1));
  const inside = open.flat();
  const share = inside.length > 0 ? inside.filter(up).length / inside.length : 0;
  return frozen - 4 * Math.min(2, held) + (told > 0 ? 2 * share : 0) - seldom * (count / raw.length);
}

/** A number larger than all others may be on another range, or past what the display shows while the converter goes on (nats). */
const outgrownCost = 2;

/** A last count that goes to and fro about nought stands for a frame or two; what is none, for longer (frames each edge). */
const steadyFrames = 2;
/** Two's complement of bytes that have every bit set. */
const allOnes = -1;

/** A number that stands still above all others, at nought or with all bits set, is none; elsewhere it may as well be one. */
const stillEvidence = (still: number, highest: number, unset: boolean): number =>
  still > highest || unset ? 4 : still === 0 ? 2.5 : -1;

/** A number that was nought before says little of a hold. */
const heldAtNought = 0.25;

/** Each time that the number falls to nothing as the bit comes, after the first. */
const fallEvidence = 1;
const mostFalls = 3;

/** Nats against a bit that would make the whole recording over-range: whoever teaches a meter measures what it can show. */
const seldom = 4;

/** A raw number that stands in every window of a typed over-range, and nowhere that a number was typed. */
function commonCode(
  raw: Float64Array,
  typed: ReadonlySet<number>,
  windows: readonly (readonly number[])[],
): number | null {
  const [first, ...rest] = windows;
  for (const frame of first ?? []) {
    const code = raw[frame]!;
    const everywhere = rest.every((frames) => frames.some((other) => raw[other] === code));
    const lasts = first!.filter((other) => raw[other] === code).length >= Math.min(2, first!.length);
    if (everywhere && lasts && !typed.has(code) && !(Math.abs(code) < Math.max(...[...typed].map(Math.abs))))
      return code;
  }
  return null;
}
