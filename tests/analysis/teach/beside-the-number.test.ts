/** What stands beside a number in its frames: bars, copies, visitors, and the count past the display's last one. Frames are drawn by hand. */
import { describe, expect, test } from "vitest";
import { slowClockBytes } from "../../../analysis/teach/clock-bytes.ts";
import { partVisitors } from "../../../analysis/teach/frame-visitors.ts";
import { Framer } from "../../../analysis/teach/framing.ts";
import { fullCount } from "../../../analysis/teach/full-count.ts";
import { looseBytes } from "../../../analysis/teach/loose-bytes.ts";
import { sizeBytes } from "../../../analysis/teach/size-bytes.ts";

const levels = [1200, 1190, 60, 450, 3000, 2990, 5400, 20, 800, 1210, 4000, 2500, 90, 1195, 3900, 700];
const raw = Float64Array.from(levels);

describe("sizeBytes", () => {
  test("a bar of sixty steps and a stored maximum repeat the number; a range beside them does not", () => {
    let most = 0;
    const frames = levels.map((counts) => {
      most = Math.max(most, counts);
      return Uint8Array.of(Math.round(counts / 100), most >> 8, most & 0xff, counts > 2000 ? 1 : 0);
    });
    expect([...sizeBytes(raw, frames, [0, 1, 2, 3])].sort()).toEqual([0, 1, 2]);
  });
});

describe("fullCount", () => {
  const still = [1200, 1201, 6000, 6000, 6000, 450, 451, 452];
  test("6000 that stays is one past the last count of a 6000 count display", () => {
    expect(fullCount(Float64Array.from(still), 1, [])).toBe(6000);
  });
  test("a level that moves, or is no round count, is a reading", () => {
    expect(fullCount(Float64Array.from([...still, 5990]), 1, [])).toBeNull();
    expect(fullCount(Float64Array.from([1200, 5437, 5437]), 1, [])).toBeNull();
  });
});

describe("partVisitors", () => {
  const reading = (i: number) => ({ seconds: i, bytes: Uint8Array.of(0xaa, 1, 2, 3, i & 1) });
  const other = (i: number) => ({ seconds: i, bytes: Uint8Array.of(0xaa, 9, 8, 7, 6) });
  test("the same other content, seldom and alone, is parted from the readings", () => {
    const frames = Array.from({ length: 60 }, (_, i) => (i % 15 === 7 ? other(i) : reading(i)));
    const { own, visitors } = partVisitors(frames);
    expect([own.length, visitors.length]).toEqual([56, 1]);
  });
  test("what lasts is none: over-range, or kinds that take turns", () => {
    const lasting = Array.from({ length: 60 }, (_, i) => (i > 20 && i < 30 ? other(i) : reading(i)));
    const turns = Array.from({ length: 60 }, (_, i) => (i % 4 === 0 ? other(i) : reading(i)));
    expect(partVisitors(lasting).visitors).toEqual([]);
    expect(partVisitors(turns).visitors).toEqual([]);
  });
});

test("a clock is let go, its upper byte with it; what lies above the number is not", () => {
  const frames = Array.from({ length: 300 }, (_, i) =>
    Uint8Array.of(0, (i * 40) >> 8, (i * 40) & 0xff, 0, (i * 7) & 0xff, 0x55),
  );
  const own = new Set(Array.from({ length: 8 }, (_, bit) => 4 * 8 + bit));
  expect([...looseBytes(frames, own, 3, new Set())].sort()).toEqual([0, 1, 2]);
});

test("a byte that goes up as its neighbour runs over is a clock's; a range that turns is not", () => {
  const frames = Array.from({ length: 300 }, (_, i) =>
    Uint8Array.of(1, i >> 8, i & 0xff, i < 150 ? 3 : 4, (i * 37) & 0xff),
  );
  expect(slowClockBytes(frames)).toEqual([1]);
});

test("bytes behind the end mark belong to the frame, whatever they are and however they come", () => {
  const framer = new Framer({ kind: "delimited", ends: [3], start: 2, behind: 1 }, [{ fixed: [], checks: [] }]);
  const sent = [2, 0x31, 3, 3, 0x4f, 0x4b, 2, 0x32, 3, 0x7f];
  const frames = sent.flatMap((byte, i) => framer.push({ seconds: i, bytes: Uint8Array.of(byte) }));
  expect(frames.map(({ seconds, bytes }) => [seconds, ...bytes])).toEqual([
    [3, 2, 0x31, 3, 3],
    [9, 2, 0x32, 3, 0x7f],
  ]);
});

describe("frames that came with all their marks", () => {
  const kinds = [{ length: 2, fixed: [], checks: [] }];
  const kindsOf = (framer: Framer, sent: number[]) =>
    framer.push({ seconds: 1, bytes: Uint8Array.from(sent) }).map(({ kind }) => kind);
  test("an end byte before and behind: one lost is damage, and the next frame is read", () => {
    const framer = () => new Framer({ kind: "delimited", ends: [0x7e], escape: "hdlc", marked: true }, kinds);
    expect(kindsOf(framer(), [0x7e, 1, 2, 0x7e, 0x7e, 3, 4, 0x7e, 0x7e, 5, 6, 0x7e])).toEqual([0, 0, 0]);
    expect(kindsOf(framer(), [0x7e, 1, 2, 0x7e, 3, 4, 0x7e, 0x7e, 5, 6, 0x7e])).toEqual([-1, 0, 0]);
    expect(kindsOf(framer(), [2, 0x7e, 0x7e, 3, 4, 0x7e])).toEqual([0]);
  });
  test("a carriage return and a line feed: a line without its return is damaged", () => {
    const framer = new Framer({ kind: "delimited", ends: [10], aligned: true, marked: true }, kinds);
    expect(kindsOf(framer, [0x31, 0x32, 13, 10, 0x33, 0x34, 10, 0x35, 0x36, 13, 10])).toEqual([0, -1, 0]);
  });
});
