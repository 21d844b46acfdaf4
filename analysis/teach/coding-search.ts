/**
 * Every way in which a number may stand in a frame that is `length` bytes long, each with what it costs to believe it.
 * Text and seven-segment figures have searches of their own.
 */
import type { IntegerCoding, NumberCoding, Piece } from "./number-coding.ts";

export interface CodingProposal {
  readonly coding: NumberCoding;
  /** nats, the place included */
  readonly cost: number;
  /** carries its own sign, or is a size whose sign stands elsewhere */
  readonly signed: boolean;
}

const whole = (at: number): Piece => [at, 0, 8];
const run = (from: number, count: number): number[] => Array.from({ length: count }, (_, i) => from + i);

/** Orders of bytes, most significant first: big, little, and long numbers as two halves in the wrong order. */
function orders(from: number, width: number): { places: number[]; cost: number }[] {
  const big = run(from, width);
  if (width === 1) return [{ places: big, cost: 0.5 }];
  const out = [
    { places: big, cost: 0.7 },
    { places: [...big].reverse(), cost: 0.7 },
  ];
  if (width === 4 || width === 8) {
    const half = width / 2;
    const swapped = [...big.slice(half), ...big.slice(0, half)];
    out.push({ places: swapped, cost: 2.5 }, { places: [...swapped].reverse(), cost: 3.5 });
  }
  return out;
}

const integer = (pieces: Piece[], form: IntegerCoding["form"]): IntegerCoding => ({ coding: "integer", pieces, form });
const widthCost: Record<number, number> = { 1: 2.5, 2: 0.7, 3: 1.6, 4: 1, 5: 5, 6: 5, 7: 6, 8: 3.5 };

/** What comes after a proposal was found to fit: the other ways to take its sign. */
export const forms: readonly { form: IntegerCoding["form"]; cost: number }[] = [
  { form: "twos-complement", cost: 0.4 },
  { form: "unsigned", cost: 1.2 },
  { form: "sign-magnitude", cost: 2 },
  { form: "middle-is-zero", cost: 2.5 },
];

export function* proposeCodings(length: number): Generator<CodingProposal> {
  const place = Math.log(length);
  for (let at = 0; at < length; at++) {
    yield* bytewise(at, length, place);
    yield* decimals(at, length, place);
    yield* groups(at, length, place);
  }
  yield* unaligned(length, place);
}

function* bytewise(at: number, length: number, place: number): Generator<CodingProposal> {
  for (let width = 1; width <= 8 && at + width <= length; width++) {
    for (const order of orders(at, width)) {
      const cost = place + order.cost + widthCost[width]!;
      yield { coding: integer(order.places.map(whole), "unsigned"), cost, signed: false };
      if (width === 4 || width === 8) {
        yield {
          coding: { coding: "float", layout: "ieee-754", places: order.places },
          cost: place + order.cost + 1.5,
          signed: true,
        };
      }
      if (width === 2 || width === 4) {
        yield {
          coding: { coding: "float", layout: "ieee-11073", places: order.places },
          cost: place + order.cost + 4,
          signed: true,
        };
      }
    }
  }
}

const high = (at: number): Piece => [at, 4, 4];
const low = (at: number): Piece => [at, 0, 4];

/** Decimal digits: two a byte or one a byte, in either order. */
function* decimals(at: number, length: number, place: number): Generator<CodingProposal> {
  for (let count = 3; count <= 10; count++) {
    const digits = (pieces: Piece[], cost: number): CodingProposal => ({
      coding: { coding: "digits", pieces },
      cost: place + cost + 1.5 + 0.2 * count,
      signed: false,
    });
    if (at + count <= length) {
      const bytes = run(at, count);
      yield digits(bytes.map(low), 0.8);
      yield digits([...bytes].reverse().map(low), 1.8);
      yield digits(bytes.map(high), 4);
      yield digits([...bytes].reverse().map(high), 4.5);
    }
    const packed = Math.ceil(count / 2);
    if (at + packed > length || count > 8) continue;
    const bytes = run(at, packed);
    for (const [pieces, cost] of [
      [bytes.flatMap((b) => [high(b), low(b)]), 0.8],
      [[...bytes].reverse().flatMap((b) => [high(b), low(b)]), 1.5],
      [bytes.flatMap((b) => [low(b), high(b)]), 2.5],
      [[...bytes].reverse().flatMap((b) => [low(b), high(b)]), 2.5],
    ] as [Piece[], number][]) {
      yield digits(pieces.slice(pieces.length - count), cost);
      if (count % 2 === 1) yield digits(pieces.slice(0, count), cost + 1);
    }
  }
}

/** Seven bits or four bits of each byte, strung together. */
function* groups(at: number, length: number, place: number): Generator<CodingProposal> {
  for (let count = 2; count <= 8 && at + count <= length; count++) {
    const bytes = run(at, count);
    for (const [bits, cost, most] of [
      [7, 2.5, 5],
      [4, 3, 8],
      [6, 4, 5],
    ] as const) {
      if (count > most || (bits === 4 && count < 3)) continue;
      const piece = (b: number): Piece => [b, 0, bits];
      yield { coding: integer(bytes.map(piece), "unsigned"), cost: place + cost + 1, signed: false };
      yield { coding: integer([...bytes].reverse().map(piece), "unsigned"), cost: place + cost + 1, signed: false };
    }
  }
}

/** Fields that begin or end inside a byte, at its other end or in its middle; the first bit at the top of the first byte or at the bottom of it. */
function* unaligned(length: number, place: number): Generator<CodingProposal> {
  for (let from = 0; from < length * 8; from++) {
    for (let bits = 9; bits <= 26 && from + bits <= length * 8; bits++) {
      if (from % 8 === 0 && bits % 8 === 0) continue;
      const atByte = from % 8 === 0 || (from + bits) % 8 === 0;
      if (!atByte && (from % 4 !== 0 || bits % 4 !== 0)) continue;
      const cost = place + 5.5 + (atByte ? 0 : 1) + (bits % 2 ? 1 : 0);
      yield { coding: integer(fromTop(from, bits), "unsigned"), cost, signed: false };
      yield { coding: integer(fromBottom(from, bits), "unsigned"), cost: cost + 0.5, signed: false };
    }
  }
}

/** Bit 0 is the top bit of byte 0. */
function fromTop(from: number, bits: number): Piece[] {
  const pieces: Piece[] = [];
  for (let bit = from; bit < from + bits; ) {
    const inside = bit % 8;
    const take = Math.min(8 - inside, from + bits - bit);
    pieces.push([bit >> 3, 8 - inside - take, take]);
    bit += take;
  }
  return pieces;
}

/** Bit 0 is the bottom bit of byte 0, and the field's lowest. */
function fromBottom(from: number, bits: number): Piece[] {
  const pieces: Piece[] = [];
  for (let bit = from; bit < from + bits; ) {
    const inside = bit % 8;
    const take = Math.min(8 - inside, from + bits - bit);
    pieces.unshift([bit >> 3, inside, take]);
    bit += take;
  }
  return pieces;
}
