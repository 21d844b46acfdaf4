/** Which bits of a frame a number takes up, so that no flag and no range is sought in them. Bits are numbered byte · 8 + bit. */
import type { FrameKind } from "./framing.ts";
import type { NumberCoding, Piece } from "./number-coding.ts";

export function codingBits(coding: NumberCoding): Set<number> {
  const taken = new Set<number>();
  for (const [at, shift, width] of piecesOf(coding))
    for (let bit = 0; bit < width; bit++) taken.add(at * 8 + shift + bit);
  if (coding.coding === "segments" && coding.point?.side === "left")
    taken.delete(firstPoint(coding.figures[0]!, coding.point.bit));
  return taken;
}

function piecesOf(coding: NumberCoding): Piece[] {
  switch (coding.coding) {
    case "segments":
      return coding.figures.flat();
    case "float":
      return coding.places.map((at): Piece => [at, 0, 8]);
    case "text":
      return coding.columns
        ? Array.from({ length: coding.columns[1] - coding.columns[0] }, (_, i): Piece => [coding.columns![0] + i, 0, 8])
        : [];
    default:
      return coding.pieces;
  }
}

/** A point left of the first figure would be none: glasses have their minus there. */
function firstPoint(pieces: readonly Piece[], pointBit: number): number {
  let below = pieces.reduce((sum, piece) => sum + piece[2], 0);
  for (const [at, shift, width] of pieces) {
    below -= width;
    if (pointBit >= below) return at * 8 + shift + pointBit - below;
  }
  return -1;
}

/** Bits of the checks at a frame's end; where the length varies they stand nowhere that could be numbered. */
export function checkBits({ checks, length, hexadecimalFrom }: FrameKind): Set<number> {
  const taken = new Set<number>();
  if (length === undefined || hexadecimalFrom !== undefined) return taken;
  for (const { back, bits, written } of checks) {
    const at = length - back;
    // Two figures stand for a byte.
    const width = written ? 2 * bits : bits;
    for (let bit = at * 8; bit < at * 8 + width; bit++) taken.add(bit);
  }
  return taken;
}

/** The ends of what an integer can hold: whatever stands there has run into them, whether it came while teaching or not. */
export function endCodes(coding: NumberCoding): number[] {
  if (coding.coding !== "integer" || coding.mask) return [];
  const bits = coding.pieces.reduce((sum, piece) => sum + piece[2], 0);
  if (bits < 16 || bits > 48) return [];
  const half = 2 ** (bits - 1);
  if (coding.form === "unsigned") return [2 * half - 1];
  return coding.form === "sign-magnitude" ? [half - 1, 1 - half] : [half - 1, -half];
}

/** The byte that would be the number's next, were it wider; null where its bytes tell no direction. */
export function byteAbove(coding: NumberCoding): number | null {
  if (coding.coding !== "integer" && coding.coding !== "digits") return null;
  const places = [...new Set(coding.pieces.map(([at]) => at))];
  return places.length > 1 ? 2 * places[0]! - places[1]! : null;
}
