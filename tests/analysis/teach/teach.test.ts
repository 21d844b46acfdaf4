// Meters drawn by hand, each with one habit of firmware: what is learnt must read every frame as the display showed it. Then
// the two benches of invented meters on a few seeds each; npm run bench:teach measures many.
import { describe, expect, test } from "vitest";
import { Problem } from "../../../analysis/problem.ts";
import { checkRecipe, readStream } from "../../../analysis/teach/recipe.ts";
import { teach } from "../../../analysis/teach/teach.ts";
import { inventedProtocol, typedValues } from "../../fixtures/protocols/invented-protocol.ts";
import { judge, lesson } from "../../fixtures/protocols/judge.ts";
import { judgeSecond, secondProtocol } from "../../fixtures/protocols/second-bench.ts";

/** Counts of a 6000-count meter with two decimals, five seconds a level, four frames a second, a little noise. */
const levels = [1247, 1382, -1105, 3, 642, 1411, -210, 998];
const counts = levels.flatMap((level) => Array.from({ length: 20 }, (_, i) => level + [0, 1, 0, -1, 0][i % 5]!));
const typedAt = [0, 1, 2, 4, 5, 7];
const typed = typedAt.map((level) => ({ seconds: level * 5 + 4.2, value: levels[level]! / 100, unit: "V" }));

function lessonOf(encode: (count: number, index: number) => number[]) {
  const bytes = counts.map((count, i) => ({
    seconds: i / 4,
    base64: Buffer.from(encode(count, i)).toString("base64"),
  }));
  return { format: "teach/1", bytes, typed };
}

const sum = (bytes: readonly number[]) => bytes.reduce((total, byte) => (total + byte) & 0xff, 0);
const ascii = (text: string) => [...text].map((letter) => letter.charCodeAt(0));
const digits = (count: number) => [...String(Math.abs(count)).padStart(4, "0")].map(Number);
const lit = [0x3f, 0x06, 0x5b, 0x4f, 0x66, 0x6d, 0x7d, 0x07, 0x7f, 0x6f];

const habits: Record<string, (count: number, index: number) => number[]> = {
  "lines of text": (n) => ascii(`${(n / 100).toFixed(2)} V\r\n`),
  "two's complement, low byte first": (n) => [0xaa, 0x55, n & 0xff, (n >> 8) & 0xff, 0x01],
  "two's complement in four bytes with sum": (n) => {
    const body = [0x5a, (n >> 24) & 0xff, (n >> 16) & 0xff, (n >> 8) & 0xff, n & 0xff];
    return [...body, sum(body)];
  },
  "size with a sign bit beside it and a counter": (n, i) => [
    0xfe,
    i & 0xff,
    n < 0 ? 0x14 : 0x10,
    Math.abs(n) >> 8,
    Math.abs(n) & 0xff,
  ],
  "packed decimal": (n) => {
    const [a, b, c, d] = digits(n) as [number, number, number, number];
    return [0xdc, n < 0 ? 0x80 : 0, (a << 4) | b, (c << 4) | d];
  },
  "a float in millivolts": (n) => [0x10, ...new Uint8Array(new Float32Array([n * 10]).buffer)],
  "seven segments": (n) => {
    const cells = digits(n).map((digit, i) => lit[digit]! | (i === 1 ? 0x80 : 0));
    return [0x3c, n < 0 ? 0x04 : 0, ...cells];
  },
  "seven segments with the other 6, 7 and 9": (n) => {
    const other = { 6: 0x7c, 7: 0x27, 9: 0x67 } as Record<number, number>;
    const cells = digits(n).map((digit, i) => (other[digit] ?? lit[digit]!) | (i === 1 ? 0x80 : 0));
    return [0x3c, n < 0 ? 0x04 : 0, ...cells];
  },
  "characters, their point in the top bit": (n) => [
    0x55,
    n < 0 ? 0x2d : 0x2b,
    ...digits(n).map((digit, i) => 0x30 + digit + (i === 1 ? 0x80 : 0)),
  ],
  "exponents written out": (n) => ascii(`${(n / 100).toExponential(4).toUpperCase()}#`),
  "a count about 10000": (n) => [0xab, (n + 10_000) >> 8, (n + 10_000) & 0xff],
};

describe("one habit each", () => {
  test.each(Object.entries(habits))("%s", (_, encode) => {
    const taught = teach(lessonOf(encode));
    expect(
      taught.readings.map((reading) => ("value" in reading ? Math.round(reading.value * 1e6) / 1e6 : reading)),
    ).toEqual(counts.map((count) => count / 100 + 0));
    expect(taught.sure).toBeGreaterThan(0.5);
    // The recipe is a document: written, read again and checked it reads the same.
    const kept = checkRecipe(JSON.parse(JSON.stringify(taught.recipe)));
    const chunks = lessonOf(encode).bytes.map(({ seconds, base64 }) => ({
      seconds,
      bytes: Uint8Array.from(Buffer.from(base64, "base64")),
    }));
    expect(readStream(kept, chunks)).toEqual(taught.readings);
  });
});

test("a counter that reached 99 while the meter was taught may go on", () => {
  const encode = (n: number, i: number) => {
    const body = [0xa5, i & 0xff, (n >> 8) & 0xff, n & 0xff];
    return [...body, sum(body)];
  };
  const lesson = lessonOf(encode);
  const early = typed.filter(({ seconds }) => seconds < 25);
  const { recipe } = teach({ ...lesson, bytes: lesson.bytes.slice(0, 100), typed: early });
  const later = counts.slice(0, 100).map((n, i) => ({ seconds: i / 4, bytes: Uint8Array.from(encode(n, i + 100)) }));
  expect(readStream(recipe!, later).map((reading) => "value" in reading && Math.round(reading.value * 100))).toEqual(
    counts.slice(0, 100).map((count) => count + 0),
  );
});

describe("what cannot be learnt is said", () => {
  test("nothing sent, nothing typed, bytes that have nothing to do with the display", () => {
    expect(teach({ format: "teach/1", bytes: [], typed })).toMatchObject({ sure: 0, recipe: null, readings: [] });
    const untyped = { ...lessonOf(habits["lines of text"]!), typed: [] };
    expect(teach(untyped)).toMatchObject({ sure: 0, recipe: null, ask: expect.stringMatching(/Type the value/) });
    const noise = lessonOf((_, i) =>
      [0, 1, 2, 3, 4, 5].map((k) => (i * 7919 + k * k * 104_729 + i * i * k * 31) & 0xff),
    );
    expect(teach(noise).sure).toBeLessThan(0.95);
  });

  test("a sign that nobody has seen is asked for, and is not called sure", () => {
    const positive = lessonOf((n) => [0xaa, 0x55, Math.abs(n) & 0xff, Math.abs(n) >> 8, 0x01]);
    const taught = teach({ ...positive, typed: typed.map((entry) => ({ ...entry, value: Math.abs(entry.value) })) });
    expect(taught.sure).toBeLessThan(0.95);
    expect(taught.ask).toMatch(/negative/);
  });

  test("a range that came in the stream and that nobody typed is asked for, and is not called sure", () => {
    const lesson = lessonOf((n) => {
      const low = Math.abs(n) < 600;
      const shown = low ? n * 10 : n;
      return [0xaa, 0x55, low ? 0x31 : 0x32, shown & 0xff, (shown >> 8) & 0xff];
    });
    const taught = teach({ ...lesson, typed: typed.filter(({ value }) => Math.abs(value) > 6) });
    expect(taught.sure).toBeLessThan(0.95);
    expect(taught.ask).toMatch(/range/);
  });

  test("frames whose upper bytes go with the sign are read whole: what runs over is no small number", () => {
    const encode = (n: number) => [0xaa, 0x55, n & 0xff, (n >> 8) & 0xff, (n >> 16) & 0xff, (n >> 24) & 0xff, 0x01];
    const { recipe } = teach(lessonOf(encode));
    const over = [{ seconds: 0, bytes: Uint8Array.from(encode(0x7fffffff)) }];
    expect(readStream(recipe!, over)).toEqual([{ seconds: 0, overRange: true }]);
  });

  test("a recipe of another version, or with a field of another kind, is a Problem that names it", () => {
    expect(() => checkRecipe({ format: "recipe/2" })).toThrow(Problem);
    const { recipe } = teach(lessonOf(habits["packed decimal"]!));
    expect(() => checkRecipe({ ...recipe, scale: { factor: "0.01" } })).toThrow(/scale\.factor/);
  });
});

describe("the benches of invented meters", () => {
  const seeds = Array.from({ length: 12 }, (_, i) => 301 + i);
  const tally = (judged: readonly { sure: number; fault: string | null }[]) => ({
    learnt: judged.filter(({ fault }) => fault === null).length,
    sureAndWrong: judged.filter(({ sure, fault }) => sure >= 0.95 && fault !== null).length,
  });

  test("the first", { timeout: 120_000 }, () => {
    const judged = seeds.map((seed) => {
      const protocol = inventedProtocol(seed);
      const taught = teach(lesson(protocol, typedValues(protocol, seed, 6)));
      return { sure: taught.sure, fault: judge(protocol, taught.readings) };
    });
    const { learnt, sureAndWrong } = tally(judged);
    console.log(
      `first bench: ${learnt} of ${seeds.length} learnt from six typed values, ${sureAndWrong} sure and wrong`,
    );
    expect(learnt).toBeGreaterThanOrEqual(8);
    expect(sureAndWrong).toBeLessThanOrEqual(1);
  });

  test("the second", { timeout: 120_000 }, () => {
    const judged = seeds.map((seed) => {
      const protocol = secondProtocol(seed, 6);
      const taught = teach({ format: "teach/1", bytes: protocol.bytes, typed: protocol.typed });
      return { sure: taught.sure, fault: judgeSecond(protocol, taught.readings) };
    });
    const { learnt, sureAndWrong } = tally(judged);
    console.log(
      `second bench: ${learnt} of ${seeds.length} learnt from six typed values, ${sureAndWrong} sure and wrong`,
    );
    expect(learnt).toBeGreaterThanOrEqual(10);
    expect(sureAndWrong).toBe(0);
  });
});
