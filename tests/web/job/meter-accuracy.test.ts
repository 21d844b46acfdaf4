/** Accuracy as manuals print it, in several of their ways of writing it. */
import { expect, it } from "vitest";
import { parseAccuracy } from "../../../web/job/meter-accuracy.ts";

it.each([
  ["0.5 % + 3 counts", 0.5, 3],
  ["±(0,5% rdg + 3 dgt)", 0.5, 3],
  ["1%+2", 1, 2],
  ["± 0.8 %", 0.8, 0],
])("%s", (text, percentOfReading, counts) => {
  expect(parseAccuracy(text)).toEqual({ percentOfReading, counts });
});

it.each(["", "three", "+ 3", "0.5", "200 % + 1"])("'%s' says nothing of the kind", (text) => {
  expect(parseAccuracy(text)).toBeNull();
});
