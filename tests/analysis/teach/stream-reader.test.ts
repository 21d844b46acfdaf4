// Laws of reading a stream: however the bytes are cut into chunks the readings are the same, and what harms a frame that
// carries a check never becomes a number that was not sent (fast-check draws the streams).
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type Reading, type Recipe, readStream, StreamReader } from "../../../analysis/teach/recipe.ts";

const sum = (bytes: readonly number[]) => bytes.reduce((total, byte) => (total + byte) & 0xff, 0);
const word = (counts: number) => [counts & 0xff, (counts >> 8) & 0xff];
const frameOf = (counts: number) => {
  const body = [0xaa, 0x55, ...word(counts), 0x01];
  return [...body, sum(body)];
};
const fixed: [number, number, number][] = [
  [0, 0xff, 0xaa],
  [1, 0xff, 0x55],
];
const checked: Recipe = {
  format: "recipe/1",
  framing: { kind: "fixed" },
  frame: {
    length: 6,
    fixed,
    checks: [{ kind: "sum", bits: 8, from: 0, uncovered: 1, back: 1, order: "big", constant: 0 }],
  },
  others: [],
  number: {
    coding: "integer",
    pieces: [
      [3, 0, 8],
      [2, 0, 8],
    ],
    form: "twos-complement",
  },
  scale: { factor: 0.01 },
  unit: "V",
  overRange: { flags: [], codes: [0x7fff] },
};
const counted: Recipe = {
  ...checked,
  framing: { kind: "counted", start: [0xaa], lengthAt: 4, add: 5, longest: 40 },
  frame: { ...checked.frame, length: undefined },
};
const delimited: Recipe = {
  ...checked,
  framing: { kind: "delimited", ends: [0x0a], aligned: true },
  frame: { fixed: [], checks: [] },
  number: { coding: "text", ordinal: 0 },
  scale: { factor: 1 },
  unit: "written",
};

const counts = fc.array(fc.integer({ min: -2000, max: 2000 }), { minLength: 1, maxLength: 30 });
const values = (readings: readonly Reading[]) =>
  readings.map((reading) => ("value" in reading ? reading.value : "overRange" in reading ? "over" : "damaged"));

/** One byte a millisecond, so that a cut changes nothing but the chunks. */
function chunked(bytes: readonly number[], cuts: readonly number[]) {
  const ends = [...new Set([...cuts.map((cut) => cut % (bytes.length + 1)), bytes.length])].sort((a, b) => a - b);
  return ends.map((end, i) => ({
    seconds: end / 1000,
    bytes: Uint8Array.from(bytes.slice(ends[i - 1] ?? 0, end)),
  }));
}

describe("cut anywhere, the readings are the same", () => {
  test.each([
    ["frames known by their marks and check", checked, (list: number[]) => list.flatMap(frameOf)],
    ["frames with a length byte", counted, (list: number[]) => list.flatMap(frameOf)],
    [
      "lines of text",
      delimited,
      (list: number[]) => [...list.map((n) => `${n / 100} V\n`).join("")].map((letter) => letter.charCodeAt(0)),
    ],
  ])("%s", (_, recipe, encode) => {
    fc.assert(
      fc.property(counts, fc.array(fc.nat(400), { maxLength: 60 }), (list, cuts) => {
        const bytes = encode(list);
        expect(values(readStream(recipe, chunked(bytes, cuts)))).toEqual(list.map((n) => n / 100));
      }),
      { numRuns: 200 },
    );
  });
});

type Harm = (frames: number[][], at: number, which: number) => number[][];
const harms: Record<string, Harm> = {
  "a byte dropped": (frames, at, which) => frames.map((f, i) => (i === at ? f.toSpliced(which % f.length, 1) : f)),
  "a byte repeated": (frames, at, which) =>
    frames.map((f, i) => (i === at ? f.toSpliced(which % f.length, 0, f[which % f.length]!) : f)),
  "a bit turned": (frames, at, which) =>
    frames.map((f, i) => (i === at ? f.with(which % f.length, f[which % f.length]! ^ (1 << (which % 8))) : f)),
  "a frame cut off": (frames, at, which) =>
    frames.map((f, i) => (i === at ? f.slice(0, 1 + (which % (f.length - 1))) : f)),
};

describe("harm to a checked frame", () => {
  test.each(Object.entries(harms))("%s: never another number, counted once it is past", (_, harm) => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -2000, max: 2000 }), { minLength: 4, maxLength: 20 }),
        fc.nat(),
        fc.nat(),
        (list, place, which) => {
          // Not the first frame (that is where we came in) nor the last (it may be still coming).
          const at = 1 + (place % (list.length - 3));
          const frames = harm(list.map(frameOf), at, which);
          const readings = values(readStream(checked, [{ seconds: 1, bytes: Uint8Array.from(frames.flat()) }]));
          const sent = list.map((n) => n / 100);
          const numbers = readings.filter((value) => value !== "damaged");
          // A neighbour may be lost with it: its own check is too weak to vouch for it alone.
          const shortened = [sent, ...[0, -1].flatMap((by) => [1, 2, 3].map((n) => sent.toSpliced(at + by, n)))];
          expect(shortened).toContainEqual(numbers);
          // A mark byte repeated in front leaves its frame whole.
          if (numbers.length < sent.length) expect(readings).toContain("damaged");
        },
      ),
      { numRuns: 300 },
    );
  });

  test("frames swapped are read as they came; a burst after a stall is read whole", () => {
    const stream = new StreamReader(checked);
    const first = stream.push({ seconds: 1, bytes: Uint8Array.from(frameOf(1247)) });
    const burst = stream.push({ seconds: 60, bytes: Uint8Array.from([1, 2, 3].flatMap(frameOf)) });
    expect(values([...first, ...burst])).toEqual([12.47, 0.01, 0.02, 0.03]);
    expect(burst[0]!.seconds).toBe(60);
  });
});
