/**
 * Checks that firmware puts behind its bytes: sums, exclusive-or, cyclic redundancy codes. A check is kept as what it runs
 * over, how it runs and what it must come to; a constant takes up start values and final masks, whatever they were.
 */
import * as v from "valibot";

const count = v.pipe(v.number(), v.integer(), v.minValue(0), v.maxValue(4095));

export const CheckSchema = v.object({
  kind: v.picklist(["sum", "xor", "crc", "fletcher"]),
  bits: v.picklist([8, 16]),
  /** first byte that it covers */
  from: count,
  /** bytes at the frame's end that it does not cover, the check itself among them */
  uncovered: v.pipe(count, v.minValue(1)),
  /** where the check stands, counted back from the frame's end: 1 is the last byte */
  back: v.pipe(count, v.minValue(1)),
  order: v.picklist(["big", "little"]),
  /** written as hexadecimal figures instead of bytes */
  written: v.optional(v.literal("hexadecimal")),
  polynomial: v.optional(v.pipe(v.number(), v.integer())),
  reflected: v.optional(v.boolean()),
  /** register before the first byte (CRC) */
  start: v.optional(v.pipe(v.number(), v.integer())),
  /** the sum is taken away instead of added */
  negative: v.optional(v.boolean()),
  /** found minus computed (sum), found exclusive-or computed (all others) */
  constant: v.pipe(v.number(), v.integer()),
});
export type Check = v.InferOutput<typeof CheckSchema>;

/** The polynomials of the usual CRC catalogues, highest bit first (from memory), unreflected. */
export const crc8Polynomials = [0x07, 0x31, 0x1d, 0x9b, 0xd5, 0x2f, 0x39, 0xa7] as const;
export const crc16Polynomials = [0x1021, 0x8005, 0x3d65, 0x8bb7, 0xc867, 0x0589] as const;

function reflect(value: number, bits: number): number {
  let out = 0;
  for (let i = 0; i < bits; i++) if (value & (1 << i)) out |= 1 << (bits - 1 - i);
  return out;
}

const tables = new Map<string, Uint16Array>();

function crcTable(bits: number, polynomial: number, reflected: boolean): Uint16Array {
  const key = `${bits} ${polynomial} ${reflected}`;
  const known = tables.get(key);
  if (known) return known;
  const table = Uint16Array.from({ length: 256 }, (_, byte) => {
    const top = 1 << (bits - 1);
    let register = (reflected ? reflect(byte, 8) : byte) << (bits - 8);
    for (let i = 0; i < 8; i++) register = register & top ? (register << 1) ^ polynomial : register << 1;
    register &= bits === 8 ? 0xff : 0xffff;
    return reflected ? reflect(register, bits) : register;
  });
  tables.set(key, table);
  return table;
}

/** The check's register run over the bytes [from, to), before any constant. */
export function run(check: Omit<Check, "constant">, bytes: Uint8Array, from: number, to: number): number {
  const mask = check.bits === 8 ? 0xff : 0xffff;
  let register = 0;
  switch (check.kind) {
    case "sum":
      for (let i = from; i < to; i++) register += bytes[i]!;
      return (check.negative ? -register : register) & mask;
    case "xor":
      for (let i = from; i < to; i++) register ^= bytes[i]!;
      return register;
    case "crc":
      return crcRun(check, bytes, from, to);
    case "fletcher":
      return fletcher(bytes, from, to);
  }
}

function crcRun(check: Omit<Check, "constant">, bytes: Uint8Array, from: number, to: number): number {
  const table = crcTable(check.bits, check.polynomial ?? 0, check.reflected ?? false);
  let register = check.start ?? 0;
  for (let i = from; i < to; i++) {
    const byte = bytes[i]!;
    if (check.bits === 8) register = table[register ^ byte]!;
    else if (check.reflected) register = table[(register ^ byte) & 0xff]! ^ (register >> 8);
    else register = table[(register >> 8) ^ byte]! ^ ((register << 8) & 0xffff);
  }
  return register;
}

function fletcher(bytes: Uint8Array, from: number, to: number): number {
  let a = 0;
  let b = 0;
  for (let i = from; i < to; i++) {
    a = (a + bytes[i]!) % 255;
    b = (b + a) % 255;
  }
  return (b << 8) | a;
}

/** What the frame says its check is; NaN where it is not written as it should be. */
export function stated(check: Omit<Check, "constant">, frame: Uint8Array): number {
  const at = frame.length - check.back;
  if (check.written) return writtenHexadecimal(frame, at, check.bits / 4);
  if (check.bits === 8) return frame[at] ?? Number.NaN;
  const [first, second] = [frame[at]!, frame[at + 1]!];
  return check.order === "big" ? first * 256 + second : second * 256 + first;
}

function writtenHexadecimal(frame: Uint8Array, at: number, figures: number): number {
  let value = 0;
  for (let i = at; i < at + figures; i++) {
    const figure = hexadecimalFigure(frame[i] ?? 0);
    if (figure < 0) return Number.NaN;
    value = value * 16 + figure;
  }
  return value;
}

/** 0 to 15, or −1 where the character is no hexadecimal figure. */
export function hexadecimalFigure(character: number): number {
  if (character >= 0x30 && character <= 0x39) return character - 0x30;
  const letter = character & ~0x20;
  return letter >= 0x41 && letter <= 0x46 ? letter - 0x37 : -1;
}

/** Stated less computed, in the manner of the check: the same for every sound frame. NaN where it cannot be said. */
export function remainder(check: Omit<Check, "constant">, frame: Uint8Array): number {
  const to = frame.length - check.uncovered;
  if (to <= check.from || check.back > frame.length) return Number.NaN;
  const said = stated(check, frame);
  if (Number.isNaN(said)) return said;
  const computed = run(check, frame, check.from, to);
  return check.kind === "sum" ? (said - computed) & (check.bits === 8 ? 0xff : 0xffff) : said ^ computed;
}

export const holds = (check: Check, frame: Uint8Array): boolean => remainder(check, frame) === check.constant;
