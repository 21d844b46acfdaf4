// The usual catalogues of CRCs give what each makes of the nine characters "123456789" (from memory); SLIP's, HDLC's and
// COBS's ways to hide an end byte are those of RFC 1055, RFC 1662 and Cheshire and Baker 1999 (from memory).
import { describe, expect, test } from "vitest";
import { findCheck } from "../../../analysis/teach/check-search.ts";
import { type Check, holds, run } from "../../../analysis/teach/checksum.ts";
import { unescaped } from "../../../analysis/teach/stuffing.ts";

const nine = Uint8Array.from("123456789", (letter) => letter.charCodeAt(0));
const crc = (bits: 8 | 16, polynomial: number, start: number, reflected: boolean): Omit<Check, "constant"> => ({
  kind: "crc",
  bits,
  from: 0,
  uncovered: bits / 8,
  back: bits / 8,
  order: "big",
  polynomial,
  start,
  reflected,
});

describe("check values of the catalogues", () => {
  test.each([
    ["CRC-8", crc(8, 0x07, 0, false), 0, 0xf4],
    ["CRC-8/MAXIM", crc(8, 0x31, 0, true), 0, 0xa1],
    ["CRC-16/ARC", crc(16, 0x8005, 0, true), 0, 0xbb3d],
    ["CRC-16/MODBUS", crc(16, 0x8005, 0xffff, true), 0, 0x4b37],
    ["CRC-16/IBM-3740", crc(16, 0x1021, 0xffff, false), 0, 0x29b1],
    ["CRC-16/XMODEM", crc(16, 0x1021, 0, false), 0, 0x31c3],
    ["CRC-16/KERMIT", crc(16, 0x1021, 0, true), 0, 0x2189],
    ["CRC-16/IBM-SDLC", crc(16, 0x1021, 0xffff, true), 0xffff, 0x906e],
  ])("%s", (_, check, finish, expected) => {
    expect(run(check, nine, 0, 9) ^ finish).toBe(expected);
  });
});

describe("a check is found from the frames alone", () => {
  /** Twenty different frames; what is behind them is left to the caller. */
  const bodies = Array.from({ length: 20 }, (_, i) => [0xaa, (i * 37) & 0xff, (i * i) & 0xff, i, 0x10]);
  const sum = (bytes: readonly number[]) => bytes.reduce((total, byte) => total + byte, 0) & 0xff;
  const xor = (bytes: readonly number[]) => bytes.reduce((total, byte) => total ^ byte, 0);
  test.each([
    ["sum", (body: number[]) => [...body, sum(body)]],
    ["xor", (body: number[]) => [...body, xor(body) ^ 0x55]],
    [
      "crc",
      (body: number[]) => {
        const value = run(crc(16, 0x8005, 0xffff, true), Uint8Array.from(body), 0, body.length);
        return [...body, value & 0xff, value >> 8];
      },
    ],
  ])("%s", (kind, frame) => {
    const frames = bodies.map((body) => Uint8Array.from(frame(body)));
    const check = findCheck(frames, false)!;
    expect(check.kind).toBe(kind);
    for (const one of frames) expect(holds(check, one)).toBe(true);
    for (const one of frames)
      for (let bit = 0; bit < 8; bit++) {
        const harmed = one.slice();
        harmed[2]! ^= 1 << bit;
        expect(holds(check, harmed)).toBe(false);
      }
  });

  test("none where nothing holds, and none from too few frames", () => {
    expect(
      findCheck(
        bodies.map((body, i) => Uint8Array.from([...body, (i * 101 + 7) & 0xff])),
        false,
      ),
    ).toBeNull();
    expect(
      findCheck(
        bodies.slice(0, 4).map((body) => Uint8Array.from([...body, sum(body)])),
        false,
      ),
    ).toBeNull();
  });

  test("a meter at rest repeats itself, and each harmed frame is one more content: the check is that of the repeated ones", () => {
    const sound = bodies.map((body) => Uint8Array.from([...body, sum(body)]));
    const harmed = sound.slice(0, 6).map((frame, i) => frame.with(1 + (i % 3), frame[1 + (i % 3)]! ^ 0x21));
    const check = findCheck([...sound, ...harmed, ...sound], false)!;
    expect([check.kind, ...harmed.map((frame) => holds(check, frame))]).toEqual(["sum", ...harmed.map(() => false)]);
  });

  test("no sum of two bytes where its upper one only stands beside a sum of one", () => {
    const frames = Array.from({ length: 60 }, (_, i) => {
      const body = [0xfe, 0x0a, 0xb8 + i, 0x08];
      return Uint8Array.from([...body, -sum(body) & 0xff]);
    });
    const check = findCheck(frames, false)!;
    expect(frames.filter((frame) => !holds(check, frame))).toEqual([]);
    expect(check.bits).toBe(8);
  });
});

test.each([
  ["slip", [1, 0xdb, 0xdc, 2, 0xdb, 0xdd], [1, 0xc0, 2, 0xdb]],
  ["hdlc", [1, 0x7d, 0x5e, 2, 0x7d, 0x5d], [1, 0x7e, 2, 0x7d]],
  ["cobs", [3, 0x11, 0x22, 2, 0x33], [0x11, 0x22, 0, 0x33]],
] as const)("%s is undone", (stuffing, sent, meant) => {
  expect([...unescaped(Uint8Array.from(sent), stuffing)]).toEqual([...meant]);
});
