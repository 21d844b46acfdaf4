/** The pyramid against plain search: no least or greatest value is lost at any zoom, and a gap stays a gap. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { Pyramid } from "../../../web/worker/pyramid.ts";

const evenly = (values: readonly number[]) =>
  new Pyramid(Float64Array.from(values.keys()), Float64Array.from(values), 1);

describe("pyramid", () => {
  it("finds the extremes of any stretch, as a plain search does", () => {
    const values = fc.array(fc.double({ min: -20, max: 20, noNaN: true }), { minLength: 1, maxLength: 700 });
    fc.assert(
      fc.property(values, fc.nat(), fc.nat(), (drawn, a, b) => {
        const from = a % drawn.length;
        const to = from + 1 + (b % (drawn.length - from));
        const stretch = drawn.slice(from, to);
        expect(evenly(drawn).extremes(from, to)).toEqual({ least: Math.min(...stretch), most: Math.max(...stretch) });
      }),
      { seed: 3 },
    );
  });

  it("keeps a dip of one sample in a hundred thousand", () => {
    const values = Array.from({ length: 100_000 }, () => 12.6);
    values[54_321] = 9.1;
    const { seconds, values: shown } = evenly(values).window(0, 100_000, 300);
    expect(Math.min(...shown)).toBe(9.1);
    expect(shown.length).toBeLessThanOrEqual(2 * 300);
    expect([...seconds].every((second, index) => index === 0 || second >= seconds[index - 1]!)).toBe(true);
  });

  it("gives every sample where few are visible, and one beyond each edge", () => {
    const { seconds, values } = evenly([12, 13, 14, 15, 16]).window(1.5, 2.5, 100);
    expect([...seconds]).toEqual([1, 2, 3]);
    expect([...values]).toEqual([13, 14, 15]);
  });

  it("marks a gap in the log with a point that is not a number", () => {
    const pyramid = new Pyramid(Float64Array.of(0, 1, 60, 61), Float64Array.of(12, 12, 12.1, 12.1), 1);
    expect([...pyramid.window(0, 61, 100).values]).toEqual([12, 12, Number.NaN, 12.1, 12.1]);
  });
});
