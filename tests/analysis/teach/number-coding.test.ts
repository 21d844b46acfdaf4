// Codings against published vectors: IEEE 11073-20601 FLOAT and SFLOAT as in ../shared/reference/open-formats.md, section 4
// (seen there unless it says computed); IEEE 754 by JavaScript's own; the rest worked by hand.
import { describe, expect, test } from "vitest";
import { type NumberCoding, reader } from "../../../analysis/teach/number-coding.ts";
import { type TextNumber, textNumber } from "../../../analysis/teach/text-number.ts";
import { proposeTextCodings } from "../../../analysis/teach/text-search.ts";

const read = (coding: NumberCoding, ...bytes: number[]) => reader(coding)(Uint8Array.from(bytes));
const medical = (places: number[]): NumberCoding => ({ coding: "float", layout: "ieee-11073", places });
const littleEndian = medical([3, 2, 1, 0]);
const short = medical([1, 0]);

describe("IEEE 11073-20601", () => {
  test.each([
    [[0x6c, 0x01, 0x00, 0xff], 36.4],
    [[0x97, 0x0d, 0x00, 0xfe], 34.79],
    [[0x71, 0x0e, 0x00, 0xfe], 36.97],
    [[0xff, 0xff, 0xff, 0x00], -1],
    [[0xfe, 0xff, 0x7f, 0x00], Number.POSITIVE_INFINITY],
    [[0x02, 0x00, 0x80, 0x00], Number.NEGATIVE_INFINITY],
    [[0xff, 0xff, 0x7f, 0x00], Number.NaN],
    [[0x00, 0x00, 0x80, 0x00], Number.NaN],
  ])("FLOAT %j", (bytes, expected) => expect(read(littleEndian, ...bytes)).toBe(expected));

  test.each([
    [[0x72, 0x00], 114],
    [[0x05, 0x20], 500],
    [[0x7d, 0xf0], 12.5],
    [[0xf0, 0xe4], 12.64],
    [[0xfe, 0x07], Number.POSITIVE_INFINITY],
    [[0xff, 0x07], Number.NaN],
  ])("SFLOAT %j", (bytes, expected) => expect(read(short, ...bytes)).toBe(expected));
});

test("integers of every form and width, digits, floats", () => {
  const word = (form: "unsigned" | "twos-complement" | "sign-magnitude" | "middle-is-zero"): NumberCoding => ({
    coding: "integer",
    pieces: [
      [0, 0, 8],
      [1, 0, 8],
    ],
    form,
  });
  expect(read(word("unsigned"), 0x84, 0xdf)).toBe(34015);
  expect(read(word("twos-complement"), 0xfb, 0x21)).toBe(-1247);
  expect(read(word("sign-magnitude"), 0x84, 0xdf)).toBe(-1247);
  expect(read(word("middle-is-zero"), 0x84, 0xdf)).toBe(1247);
  const eight = Array.from({ length: 8 }, (_, i): [number, number, number] => [i, 0, 8]);
  const wide: NumberCoding = { coding: "integer", pieces: eight, form: "twos-complement" };
  expect(read(wide, 255, 255, 255, 255, 255, 255, 251, 33)).toBe(-1247);
  const packed: NumberCoding = {
    coding: "digits",
    pieces: [
      [0, 4, 4],
      [0, 0, 4],
      [1, 4, 4],
      [1, 0, 4],
    ],
  };
  expect(read(packed, 0x12, 0x47)).toBe(1247);
  expect(read(packed, 0x1f, 0x47)).toBeNaN();
  const bytes = [...new Uint8Array(new Float32Array([12.47]).buffer)];
  expect(read({ coding: "float", layout: "ieee-754", places: [3, 2, 1, 0] }, ...bytes)).toBeCloseTo(12.47, 6);
});

describe("numbers in text", () => {
  test.each([
    ["DC  12.47 V", 12.47, "V"],
    ["-0.5mA", -0.5, "mA"],
    ["+ 1.25 volts", 1.25, "V"],
    ["CH1: OL V", Number.POSITIVE_INFINITY, "V"],
    ["DCV 0.L", Number.POSITIVE_INFINITY, ""],
    ["0L mV", Number.POSITIVE_INFINITY, "mV"],
    ["     0L ADC", Number.POSITIVE_INFINITY, "A"],
    ["   0.L V", Number.POSITIVE_INFINITY, "V"],
    ["-  6.785 V", -6.785, "V"],
    ["0. V", 0, "V"],
    ["9.9E+37", Number.POSITIVE_INFINITY, ""],
    ["1.2E", Number.NaN, ""],
    ["1.2.3 V", Number.NaN, ""],
    ["", Number.NaN, ""],
  ])("%j", (line, number, unit) => {
    expect(textNumber({ coding: "text", ordinal: 0 }, line)).toEqual({ number, unit });
  });

  test("another cell, another name, a decimal comma, columns among bytes", () => {
    expect(textNumber({ coding: "text", cell: { separator: ";", index: 1 } }, "7;12.47;20").number).toBe(12.47);
    expect(textNumber({ coding: "text", after: "u=" }, "t=20 u=12.47V").number).toBe(12.47);
    expect(textNumber({ coding: "text", ordinal: 0, decimalComma: true }, "12,47 V").number).toBe(12.47);
    expect(textNumber({ coding: "text", columns: [2, 9], ordinal: 0 }, "\x02\x10+12.47V\x03").number).toBe(12.47);
  });

  test("two lines run into one are no reading, wherever in the line the number is sought", () => {
    const line = (i: number) => `{"temp":${20 + i},"bat":82,"val":${(12 + i / 7).toFixed(4)}}`;
    const frames = Array.from({ length: 20 }, (_, i) => Uint8Array.from(line(i), (letter) => letter.charCodeAt(0)));
    const codings = proposeTextCodings(frames, false).map(({ coding }) => coding as TextNumber);
    expect(codings.map((coding) => textNumber(coding, line(3)).number)).toContain(12.4286);
    expect(codings.map((coding) => textNumber(coding, line(3) + line(4)).number)).toEqual(
      codings.map(() => Number.NaN),
    );
  });

  test.each([
    ["7;-466.3;DC mV;20", "mV"],
    ["7;-466.3;mVDC", "mV"],
    ["7;-466.3;V", "V"],
    ["7;-466.3;AUTO", ""],
    ["7;-466.3;volts:12", ""],
  ])("the unit in the next cell: %s", (line, unit) => {
    expect(textNumber({ coding: "text", cell: { separator: ";", index: 1 } }, line)).toEqual({ number: -466.3, unit });
  });
});
