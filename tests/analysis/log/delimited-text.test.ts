/**
 * Records cut into cells: against papaparse and the rules of RFC 4180 (2005), own examples.
 */
import * as fc from "fast-check";
import Papa from "papaparse";
import { describe, expect, it } from "vitest";
import { splitCells } from "../../../analysis/log/delimited-text.ts";
import { anyDelimiter, findRecordEnd } from "../../../analysis/log/record.ts";
import { bytesOf } from "./drawn-dialect.ts";

const marks = [",", ";", "\t", "|"];

describe("a record", () => {
  it("is cut as papaparse cuts it, quoted or not", () => {
    const cell = fc.stringMatching(/^[a-z0-9 .,;|"\n]{0,8}$/);
    fc.assert(
      fc.property(fc.constantFrom(...marks), fc.array(cell, { minLength: 2, maxLength: 5 }), (delimiter, cells) => {
        const record = Papa.unparse([cells], { delimiter });
        expect(splitCells(record, delimiter)).toEqual(cells);
      }),
      { seed: 11, numRuns: 500 },
    );
  });

  it("takes blanks in a run for one delimiter, and keeps them in quotes", () => {
    expect(splitCells("  0.5   12.61\t0.6 ", " ")).toEqual(["0.5", "12.61", "0.6"]);
    expect(splitCells('0.5  "two words"  1', " ")).toEqual(["0.5", "two words", "1"]);
  });

  it("follows RFC 4180, rules 5 to 7", () => {
    expect(splitCells('"aaa","b""bb","c\ncc"', ",")).toEqual(["aaa", 'b"bb', "c\ncc"]);
    expect(splitCells('1, "padded",2', ",")).toEqual(["1", "padded", "2"]);
  });

  it("ends where its line ends, a quoted line break left in", () => {
    const ends = (text: string, last = true) => findRecordEnd(bytesOf(text), 0, anyDelimiter, last);
    expect(ends("a,b\r\nc")).toMatchObject({ end: 3, next: 5, lines: 1, unclosed: false });
    expect(ends("a,b\rc")).toMatchObject({ end: 3, next: 4 });
    expect(ends('a,"b\nc",d\ne')).toMatchObject({ end: 9, next: 10, lines: 2, unclosed: false });
    expect(ends('a,"b""\n"",c"\nd')).toMatchObject({ end: 12, lines: 2 });
    expect(ends('a,5" disc\nb')).toMatchObject({ end: 9, lines: 1, unclosed: false });
    expect(ends('a,"b\nc,d\n')).toMatchObject({ end: 4, next: 5, unclosed: true });
    expect(ends("a,b\r", false)).toBeNull();
    expect(ends("a,b", false)).toBeNull();
  });
});
