/** What stands beside a number in its frames: bars, copies, visitors, and the count past the display's last one. Frames are drawn by hand. */
import { describe, expect, test } from "vitest";
import { slowClockBytes } from "../../../analysis/teach/clock-bytes.ts";
import { partVisitors } from "../../../analysis/teach/frame-visitors.ts";
import { Framer } from "../../../analysis/teach/framing.ts";
import { fullCount } from "../../../analysis/teach/full-count.ts";
import { following } from "../../../analysis/teach/idle-states.ts";
import { looseBytes } from "../../../analysis/teach/loose-bytes.ts";
import { disorder } from "../../../analysis/teach/range-order.ts";
import { sizeBytes } from "../../../analysis/teach/size-bytes.ts";
import { thresholdEvidence } from "../../../analysis/teach/size-threshold.ts";
import { excess } from "../../../analysis/teach/stream-evidence.ts";

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
  test("a count that goes under nought for a moment is a reading", () => {
    const check = (bytes: number[]) =>
      Uint8Array.of(
        ...bytes,
        bytes.reduce((sum, byte) => (sum + byte) & 0xff, 0),
      );
    const frames = Array.from({ length: 60 }, (_, i) => ({
      seconds: i,
      bytes: check(i % 15 === 7 ? [0xaa, 2, 0xff, 0xff] : [0xaa, 2, i & 1, 0]),
    }));
    expect(partVisitors(frames).visitors).toEqual([]);
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

describe("bits that go with the number", () => {
  const track = (values: number[]) => ({ at: 0, shift: 0, values: Uint8Array.from(values) });
  const bit = (values: number[]) => ({ ...track(values), ones: 0, busy: 0, turning: "", minus: null });
  const sizes = Float64Array.from([12, 12, 3, 3, 0.2, 0.2, 9, 9, 0.4, 0.4, 14, 14]);
  const jumps = Uint8Array.from([0, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0]);

  test("one that is up at the two smallest of six levels goes by the size: a chance of 2 in 15", () => {
    const small = track([0, 0, 0, 0, 1, 1, 0, 0, 1, 1, 0, 0]);
    expect(thresholdEvidence(small.values, sizes, { jumps })).toBeCloseTo(Math.log(15 / 2), 9);
  });
  test("one that is up at a small and a large level does not", () => {
    const either = track([0, 0, 0, 0, 1, 1, 0, 0, 0, 0, 1, 1]);
    expect(thresholdEvidence(either.values, sizes, { jumps })).toBe(0);
  });
  test("a byte above that is the sign in all but one frame of a hundred is the number's own", () => {
    const values = Float64Array.from({ length: 100 }, (_, i) => (i % 10 < 4 ? -5 : 5));
    const spread = Array.from(values, (value) => (value < 0 ? 1 : 0));
    expect(following(bit(spread), null, values)).toBe("always");
    expect(following(bit(spread.with(0, 0)), null, values)).toBe("but for moments");
    expect(following(bit(spread.map((_, i) => (i > 50 ? 1 : 0))), null, values)).toBe("no");
  });
});

test("values in their finest range are in order; the same in the coarsest are not", () => {
  const counts = Float64Array.from([1200, 5400, 600, 5900, 1300]);
  expect(disorder(Float64Array.from([-2, -3, -2, -3, -2]), counts, false)).toBe(0);
  expect(
    disorder(
      Float64Array.from([-2, -3, -2, -3, -2]),
      counts.map((x) => x / 10),
      false,
    ),
  ).toBe(0);
  expect(
    disorder(Float64Array.from([-1, -3, -1, -2, -1]), Float64Array.from([50, 5400, 60, 5900, 50]), false),
  ).toBeCloseTo(0.6 * (3 - 0.05), 9);
});

test("what a creeping display passes on its way to over-range is no excess; the same alone is", () => {
  const over = Number.NaN;
  expect(excess(Float64Array.from([12, 12, 240, 410, over, over, 500, 190, 70, 12]), 12.6)).toBe(0);
  expect(excess(Float64Array.from([12, 12, 240, 240, 12, over, over]), 12.6)).toBeGreaterThan(3);
});
