// RFC 8259 decides what JSON is; JSON.parse is the judge, our own reading only says where it stops being JSON.
import fc from "fast-check";
import { expect, test } from "vitest";
import { parseJson } from "../../../analysis/job/json-text.ts";
import { Problem } from "../../../analysis/problem.ts";

function refusal(text: string): Problem {
  try {
    parseJson(text, "job.json");
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  throw new Error("should have been refused");
}

test.each([
  [
    '{\n  "a": 1,\n  "b": 2,\n}',
    "job.json, line 4, column 1: not JSON: should have a field name in double quotes here; got } (a comma too many before it, or something missing)",
  ],
  ['{"a": NaN}', "job.json, line 1, column 7: not JSON: should have a value here; got 'NaN'"],
  ['{"a": 01}', "job.json, line 1, column 7: not JSON: should have a value here; got '01'"],
  ["{'a': 1}", "job.json, line 1, column 2: not JSON: should have a field name in double quotes here; got '''"],
  ['{"a" 1}', "job.json, line 1, column 6: not JSON: should have a colon after the field name; got '1'"],
  ["[1 2]", "job.json, line 1, column 4: not JSON: should go on with , or ]; got '2'"],
  ["[1,\n2", "job.json, line 2, column 2: not JSON: should go on with , or ]; got the end of the file"],
  ['{"a": 1} x', "job.json, line 1, column 10: not JSON: should end after its one value; got 'x'"],
  [
    '{"a": 1, // amps\n"b": 2}',
    "job.json, line 1, column 10: not JSON: should have a field name in double quotes here; got a comment, which JSON does not have",
  ],
  [
    '{"a": "x\n"}',
    "job.json, line 1, column 7: not JSON: should have a value here; got a text with a broken escape, a line break inside, or no closing quote",
  ],
  ["", "job.json, line 1, column 1: not JSON: should have a value here; got the end of the file"],
])("%j", (text, sentence) => {
  expect(refusal(text).message).toBe(sentence);
});

test("a byte order mark is passed over", () => {
  expect(parseJson("\uFEFF[1]", "job.json")).toEqual([1]);
});

test("whatever is cut from or put into JSON, either JSON.parse reads it or a place is named", () => {
  fc.assert(
    fc.property(
      fc.json(),
      fc.nat(),
      fc.constantFrom("", ",", "}", "]", '"', ":", "\\", "\n", "0", "\u0000", "é"),
      (json, where, put) => {
        const at = where % (json.length + 1);
        const text = json.slice(0, at) + put + json.slice(put === "" ? at + 1 : at);
        try {
          JSON.parse(text);
        } catch {
          const { line, column } = refusal(text).place;
          expect(line).toBeGreaterThan(0);
          expect(column).toBeGreaterThan(0);
        }
      },
    ),
    { seed: 1, numRuns: 3000 },
  );
});

test("a million brackets do not hurt", () => {
  expect(refusal("[".repeat(1e6)).message).toContain("should have a value here; got the end of the file");
});
