/** Frames between end bytes as they were before they were sent: without the end's own bytes, and without what stood in for them. */
import * as v from "valibot";

export const StuffingSchema = v.picklist(["slip", "hdlc", "cobs"]);
export type Stuffing = v.InferOutput<typeof StuffingSchema>;

/** CR LF is one end: the time of a frame is that of its last byte, and its text ends before the CR. */
export function withoutReturn(raw: Uint8Array, ends: readonly number[]): Uint8Array {
  return ends.length === 1 && ends[0] === 0x0a && raw.at(-1) === 0x0d ? raw.subarray(0, -1) : raw;
}

/** Bytes as they were before they were stuffed: SLIP (RFC 1055), HDLC in asynchronous framing (RFC 1662), COBS (from memory). */
export function unescaped(bytes: Uint8Array, stuffing: Stuffing | undefined): Uint8Array {
  if (stuffing === undefined) return bytes.slice();
  if (stuffing === "cobs") return uncobs(bytes);
  const out: number[] = [];
  for (let i = 0; i < bytes.length; i++) {
    const byte = bytes[i]!;
    if (stuffing === "hdlc") out.push(byte === 0x7d ? (bytes[++i] ?? 0) ^ 0x20 : byte);
    else out.push(byte === 0xdb ? slipEscape(bytes[++i] ?? 0) : byte);
  }
  return Uint8Array.from(out);
}

const slipEscape = (byte: number): number => (byte === 0xdc ? 0xc0 : byte === 0xdd ? 0xdb : byte);

function uncobs(bytes: Uint8Array): Uint8Array {
  const out: number[] = [];
  for (let i = 0; i < bytes.length; ) {
    const code = bytes[i]!;
    out.push(...bytes.subarray(i + 1, i + code));
    i += code;
    if (code < 0xff && i < bytes.length) out.push(0);
  }
  return Uint8Array.from(out);
}
