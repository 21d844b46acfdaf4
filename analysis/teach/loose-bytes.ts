/**
 * Bytes whose still bits are no mark of a sound frame: counters, clocks, temperatures and batteries stand nearly still for a
 * minute and somewhere else tomorrow. A recipe that held on to them would find every frame of another day damaged.
 */
import type { FrameKind, Framing } from "./framing.ts";

/** More values than a state has. */
const fewestValues = 5;
/** What turned so seldom in a minute will hardly run over. */
const fewTurns = 3;
/** Upper bytes of a number that is small, or small and negative. */
const isUpper = (byte: number): boolean => byte < 8 || byte === 0xff;

/**
 * @param own bits of the number and its flags, byte · 8 + bit
 * @param above the byte above a whole number's highest: it may be more of it, and stays as it was
 * @param repeating bytes that only repeat the number
 * @returns places, from the frame's start
 */
export function looseBytes(
  frames: readonly Uint8Array[],
  own: ReadonlySet<number>,
  above: number | null,
  repeating: ReadonlySet<number>,
): Set<number> {
  const length = Math.min(...frames.map((frame) => frame.length));
  const near = new Set([...own].map((bit) => bit >> 3));
  if (above !== null) near.add(above);
  const turns = Array.from({ length }, (_, at) => turnsOf(frames, at));
  const loose = new Set<number>();
  for (let at = 0; at < length; at++) {
    const lives = repeating.has(at) || valuesOf(frames, at) >= fewestValues || drifts(frames, at);
    if (lives && turns[at]! > 0 && !near.has(at)) loose.add(at);
  }
  for (const [at, step] of upperEnds(loose, turns)) {
    const slowest = at - step;
    const mayCarry = turns[slowest]! > fewTurns && carries(frames, slowest);
    if (mayCarry && turns[at] === 0 && isUpper(frames[0]![at]!) && !near.has(at)) loose.add(at);
  }
  return loose;
}

const valuesOf = (frames: readonly Uint8Array[], at: number): number => new Set(frames.map((frame) => frame[at]!)).size;

function turnsOf(frames: readonly Uint8Array[], at: number): number {
  let turns = 0;
  for (let i = 1; i < frames.length; i++) if (frames[i]![at] !== frames[i - 1]![at]) turns++;
  return turns;
}

/** Where a number of several living bytes goes on to those that have not come up yet: beyond its slowest. */
function upperEnds(loose: ReadonlySet<number>, turns: readonly number[]): [at: number, step: number][] {
  const out: [number, number][] = [];
  for (const first of loose) {
    if (loose.has(first - 1) || !loose.has(first + 1)) continue;
    let last = first;
    while (loose.has(last + 1)) last++;
    out.push(turns[first]! > turns[last]! ? [last + 1, 1] : [first - 1, -1]);
  }
  return out;
}

/** Whether a byte only ever goes up, or only down, by one at a time: the slow part of a clock, a battery. */
const drifts = (frames: readonly Uint8Array[], at: number): boolean => {
  const steps = stepsOf(frames, at);
  return steps.size === 1 && (steps.has(1) || steps.has(0xff));
};

/** Whether it carries what a faster byte beside it has run over. */
const carries = (frames: readonly Uint8Array[], at: number): boolean =>
  [...stepsOf(frames, at)].every((step) => step === 1 || step === 0xff);

function stepsOf(frames: readonly Uint8Array[], at: number): Set<number> {
  const steps = new Set<number>();
  for (let i = 1; i < frames.length; i++) steps.add((frames[i]![at]! - frames[i - 1]![at]!) & 0xff);
  steps.delete(0);
  return steps;
}

/** Enough bits to find a frame by where no check and no cut of the stream does (our choice). */
const fewestMarks = 12;

/**
 * The kind without what is loose in it, where frames can still be told from all others.
 * @param others kinds of frame beside it
 */
export function loosened(
  kind: FrameKind,
  framing: Framing,
  others: readonly FrameKind[],
  loose: ReadonlySet<number>,
): FrameKind {
  const fixed = kind.fixed.filter(([at]) => !loose.has(at));
  const bits = fixed.reduce((sum, [, mask]) => sum + bitCount(mask), 0);
  if (framing.kind === "fixed" && bits < fewestMarks) return kind;
  const wider = { ...kind, fixed };
  return others.some((other) => mayPass(wider, other)) ? kind : wider;
}

const bitCount = (mask: number): number => {
  let count = 0;
  for (let left = mask; left > 0; left &= left - 1) count++;
  return count;
};

/** Whether a frame of the other kind could be taken for one of this: as long, and unlike in no bit that both hold on to. */
function mayPass(kind: FrameKind, other: FrameKind): boolean {
  if (kind.length !== undefined && other.length !== undefined && kind.length !== other.length) return false;
  const mine = new Map(kind.fixed.map(([at, mask, value]) => [at, { mask, value }]));
  return !other.fixed.some(([at, mask, value]) => {
    const here = mine.get(at);
    return here !== undefined && ((here.value ^ value) & here.mask & mask) !== 0;
  });
}
