/**
 * Finds figures of a seven-segment glass in a frame without knowing which bit lights which segment: what was typed says
 * which digit a pattern is, and each segment must behave over the digits as one bit behaves over the patterns.
 */
import type { CodingProposal } from "./coding-search.ts";
import type { Piece, SegmentsCoding } from "./number-coding.ts";
import type { Sighting } from "./sighting.ts";

/** Segments a to g as bits 0 to 6 of each digit, in the usual drawing; 6, 7 and 9 have a second one (common practice). */
const usual = [0x3f, 0x06, 0x5b, 0x4f, 0x66, 0x6d, 0x7d, 0x07, 0x7f, 0x6f];
const second = new Map([
  [6, 0x7c],
  [7, 0x27],
  [9, 0x67],
]);
/** The usual ones first; each of the three may have its second drawing. */
const drawings: readonly (readonly number[])[] = [[], [7], [6, 9], [6], [9], [6, 7, 9], [6, 7], [7, 9]].map((changed) =>
  usual.map((shape, digit) => (changed.includes(digit) ? second.get(digit)! : shape)),
);
const others: Readonly<Record<string, number>> = { " ": 0, "-": 0x40, L: 0x38 };

interface Layout {
  readonly figures: Piece[][];
  readonly cost: number;
}

export function proposeSegments(frames: readonly Uint8Array[], sightings: readonly Sighting[]): CodingProposal[] {
  const telling = sightings.filter((sighting) => Math.abs(sighting.typed.shown) > 0 || sightings.length > 2);
  if (telling.length < 2) return [];
  const length = Math.min(...frames.map((frame) => frame.length));
  const out: CodingProposal[] = [];
  // Those whose leading figure lives: one that never shows anything else may be none.
  const whole: SegmentsCoding[] = [];
  for (const layout of layouts(length)) {
    const cells = cellReader(layout.figures, frames);
    if (!cells) continue;
    for (let pointBit = 0; pointBit < 8; pointBit++) {
      for (const side of ["right", "left"] as const) {
        const coding = solve(layout, cells, telling, pointBit, side);
        if (!coding) continue;
        const cut = whole.some((longer) => endsWith(longer, coding.coding)) ? cutCost : 0;
        if (new Set(cells[0]!.map((pattern) => pattern & ~(1 << pointBit))).size > 1) whole.push(coding.coding);
        out.push({ coding: coding.coding, cost: Math.log(length) + layout.cost + coding.cost + cut, signed: false });
      }
    }
    if (out.length > 24) break;
  }
  return out;
}

/** Nats against a glass that leaves out a figure to its left, which reads as one too. */
const cutCost = 4;

/** Whether a longer row of figures ends in all of a shorter one. */
function endsWith(longer: SegmentsCoding, shorter: SegmentsCoding): boolean {
  if (longer.figures.length <= shorter.figures.length) return false;
  if (longer.point?.bit !== shorter.point?.bit || longer.point?.side !== shorter.point?.side) return false;
  const end = longer.figures.slice(-shorter.figures.length);
  return JSON.stringify(end) === JSON.stringify(shorter.figures);
}

/** A byte a figure, or two nibbles a figure in bytes side by side, from the left or from the right. */
function layouts(length: number): Layout[] {
  const out: Layout[] = [];
  for (let count = 6; count >= 3; count--) {
    for (let at = 0; at < length; at++) {
      const bytes = Array.from({ length: count }, (_, i): Piece[] => [[at + i, 0, 8]]);
      if (at + count <= length) out.push({ figures: bytes, cost: 3 }, { figures: [...bytes].reverse(), cost: 3.5 });
      if (at + 2 * count > length) continue;
      const highFirst = Array.from({ length: count }, (_, i): Piece[] => [
        [at + 2 * i, 0, 4],
        [at + 2 * i + 1, 0, 4],
      ]);
      out.push({ figures: highFirst, cost: 3.5 }, { figures: [...highFirst].reverse(), cost: 4 });
    }
  }
  return out;
}

/** Patterns by figure and frame; null where a figure takes more shapes than a glass has. */
function cellReader(figures: readonly Piece[][], frames: readonly Uint8Array[]): Uint8Array[] | null {
  const cells: Uint8Array[] = [];
  for (const pieces of figures) {
    const values = Uint8Array.from(frames, (frame) => {
      let bits = 0;
      for (const [at, shift, width] of pieces) bits = (bits << width) | ((frame[at]! >> shift) & ((1 << width) - 1));
      return bits;
    });
    if (new Set(values).size > 26) return null;
    cells.push(values);
  }
  const living = cells.filter((values) => values.some((value) => value !== values[0])).length;
  return living >= 2 ? cells : null;
}

type Pairs = Map<number, number>;

function solve(
  layout: Layout,
  cells: readonly Uint8Array[],
  sightings: readonly Sighting[],
  pointBit: number,
  side: "left" | "right",
): { coding: SegmentsCoding; cost: number } | null {
  const ways = matchTyped(cells, sightings, 1 << pointBit, side);
  if (ways.length === 0) return null;
  const seen = patternsSeen(cells, 1 << pointBit);
  let best: { coding: SegmentsCoding; cost: number } | null = null;
  for (const [index, drawing] of drawings.entries()) {
    for (const pairs of ways) {
      const found = shapesFor(pairs, drawing, seen, pointBit);
      if (!found) continue;
      const cost = 2 + 0.3 * index + unreadCost * found.unread;
      if (best && cost >= best.cost) continue;
      const figures = layout.figures as SegmentsCoding["figures"];
      best = { coding: { coding: "segments", figures, shapes: found.shapes, point: { bit: pointBit, side } }, cost };
    }
    if (best && best.cost < 2 + 0.3 * (index + 1)) break;
  }
  return best;
}

/** A pattern that is none of the digits may be a letter of some mark; each one more is far-fetched (nats). */
const unreadCost = 4;

/** Patterns without their point bit, those that come in at least two frames (others are damage), over all figures. */
function patternsSeen(cells: readonly Uint8Array[], pointMask: number): Set<number> {
  const counts = new Map<number, number>();
  for (const values of cells)
    for (const value of values) counts.set(value & ~pointMask, (counts.get(value & ~pointMask) ?? 0) + 1);
  return new Set([...counts].filter(([, count]) => count > 2).map(([pattern]) => pattern));
}

const mostWays = 60;

/** Ways to say which digit each pattern is, so that every sighting has a frame that reads as typed; those that know most first. */
function matchTyped(
  cells: readonly Uint8Array[],
  sightings: readonly Sighting[],
  pointMask: number,
  side: "left" | "right",
): Pairs[] {
  let ways: Pairs[] = [new Map()];
  for (const sighting of sightings) {
    const next: Pairs[] = [];
    const tried = new Set<string>();
    for (const frame of sighting.frames) {
      const patterns = cells.map((values) => values[frame]!);
      const key = patterns.join();
      if (tried.has(key)) continue;
      tried.add(key);
      const digits = digitsShown(patterns, Math.abs(sighting.typed.shown), pointMask, side);
      if (digits === null) continue;
      for (const way of ways) {
        const joined = joinPairs(way, patterns, digits, pointMask);
        if (joined && next.length < mostWays) next.push(joined);
      }
    }
    if (next.length === 0) return [];
    ways = next;
  }
  return ways.sort((a, b) => b.size - a.size);
}

/** How many segments each digit lights, over all drawings. */
const litCounts = usual.map((_, digit) => new Set(drawings.map((drawing) => bitCount(drawing[digit]!))));

function bitCount(bits: number): number {
  let count = 0;
  for (let left = bits; left > 0; left &= left - 1) count++;
  return count;
}

/** The digits that these figures would show for a value, by where the point is lit; null where they cannot show it. */
function digitsShown(
  patterns: readonly number[],
  value: number,
  pointMask: number,
  side: "left" | "right",
): string | null {
  const points = patterns.map((pattern) => (pattern & pointMask) !== 0);
  const lit = points.indexOf(true, side === "left" ? 1 : 0);
  if (lit >= 0 && points.indexOf(true, lit + 1) >= 0) return null;
  const decimals = lit < 0 ? 0 : side === "left" ? patterns.length - lit : patterns.length - 1 - lit;
  const counts = Math.round(value * 10 ** decimals);
  if (Math.abs(counts / 10 ** decimals - value) > 1e-9) return null;
  const text = String(counts).padStart(patterns.length, "0");
  return text.length === patterns.length ? text : null;
}

/** Zeros in front may be dark: a dark figure tells nothing of the shape of 0. */
function joinPairs(way: Pairs, patterns: readonly number[], digits: string, pointMask: number): Pairs | null {
  const joined = new Map(way);
  let leading = true;
  for (const [i, pattern] of patterns.entries()) {
    const bare = pattern & ~(pointMask | (i === 0 ? pointMask : 0));
    const digit = Number(digits[i]);
    if (leading && digit === 0 && bare === 0) continue;
    if (digit !== 0) leading = false;
    if (!litCounts[digit]!.has(bitCount(bare))) return null;
    const known = joined.get(bare);
    if (known === undefined) {
      for (const other of joined.values()) if (other === digit) return null;
      joined.set(bare, digit);
    } else if (known !== digit) return null;
  }
  return joined;
}

/**
 * Bits to segments: over the known pairs a bit and its segment have the same history. Where that leaves a choice,
 * the other patterns of the stream decide, for they must be digits too.
 */
function shapesFor(
  pairs: Pairs,
  drawing: readonly number[],
  seen: ReadonlySet<number>,
  pointBit: number,
): { shapes: Record<string, string>; unread: number } | null {
  if (pairs.size < 3) return null;
  const known = [...pairs];
  const bits = [0, 1, 2, 3, 4, 5, 6, 7].filter((bit) => bit !== pointBit);
  const history = (of: (pair: [number, number]) => number) => known.map((pair) => (of(pair) ? "1" : "0")).join("");
  const bitHistory = bits.map((bit) => history(([pattern]) => (pattern >> bit) & 1));
  const segmentHistory = [0, 1, 2, 3, 4, 5, 6].map((segment) =>
    history(([, digit]) => (drawing[digit]! >> segment) & 1),
  );
  if ([...bitHistory].sort().join() !== [...segmentHistory].sort().join()) return null;
  const best = { shapes: null as Record<string, string> | null, unread: Number.POSITIVE_INFINITY };
  let budget = 6000;
  const assign = (segment: number, used: number[]): void => {
    if (budget-- < 0 || best.unread === 0) return;
    if (segment === 7) consider(used);
    if (segment === 7) return;
    for (const [i, bit] of bits.entries()) {
      if (!used.includes(bit) && bitHistory[i] === segmentHistory[segment]) assign(segment + 1, [...used, bit]);
    }
  };
  const consider = (order: number[]): void => {
    const shapes = shapesOf(order, drawing);
    let unread = 0;
    for (const pattern of seen) if (shapes[String(pattern)] === undefined) unread++;
    // Equally readable: the plain order of segments, a for the lowest bit, is the likelier habit; it comes first.
    if (unread < best.unread) Object.assign(best, { shapes, unread });
  };
  assign(0, []);
  return best.shapes && best.unread <= 0.25 * seen.size ? { shapes: best.shapes, unread: best.unread } : null;
}

function shapesOf(order: readonly number[], drawing: readonly number[]): Record<string, string> {
  const shapes: Record<string, string> = {};
  const place = (shape: number, text: string) => {
    let pattern = 0;
    for (const [segment, bit] of order.entries()) if ((shape >> segment) & 1) pattern |= 1 << bit;
    shapes[String(pattern)] ??= text;
  };
  for (const [digit, shape] of drawing.entries()) place(shape, String(digit));
  for (const [text, shape] of Object.entries(others)) place(shape, text);
  return shapes;
}
