/**
 * Time stamps against the published examples of RFC 3339 (2002), section 5.8 (as in open-formats, section 6),
 * and the platform's own reading of ISO 8601 as an outside check.
 */
import * as fc from "fast-check";
import { describe, expect, it } from "vitest";
import { epochOfStamp, parseStamp } from "../../../analysis/log/timestamp.ts";

const epoch = (text: string, dayFirst = true): number | null => {
  const stamp = parseStamp(text);
  return stamp === null ? null : epochOfStamp(stamp, dayFirst);
};

describe("a time stamp", () => {
  it("agrees with the published examples", () => {
    expect(epoch("1985-04-12T23:20:50.52Z")).toBe(Date.UTC(1985, 3, 12, 23, 20, 50, 520) / 1000);
    expect(epoch("1996-12-19T16:39:57-08:00")).toBe(epoch("1996-12-20T00:39:57Z"));
    expect(epoch("1990-12-31T23:59:60Z")).toBe(epoch("1990-12-31T15:59:60-08:00"));
    expect(epoch("1937-01-01T12:00:27.87+00:20")).toBeCloseTo(Date.UTC(1937, 0, 1, 11, 40, 27, 870) / 1000, 6);
    expect(epoch("19850412T232050Z")).toBe(Date.UTC(1985, 3, 12, 23, 20, 50) / 1000);
  });

  it("agrees with the platform on any instant", () => {
    let worst = 0;
    fc.assert(
      fc.property(fc.date({ min: new Date(0), max: new Date(4e12), noInvalidDate: true }), (date) => {
        worst = Math.max(worst, Math.abs(epoch(date.toISOString())! - date.getTime() / 1000));
        expect(worst).toBeLessThan(1e-6);
      }),
      { seed: 3 },
    );
    console.log(`time stamps: worst error ${worst.toExponential(1)} s`);
  });

  const same = Date.UTC(2026, 2, 4, 22, 0, 5) / 1000;
  for (const text of [
    "2026-03-04 22:00:05",
    "2026/03/04 22:00:05",
    "2026-03-04T22:00:05.000",
    "04.03.2026 22:00:05",
    "4.3.26 22:00:05",
    "04/03/2026 10:00:05 PM",
    "04-03-2026, 10:00:05 p.m.",
    "4-Mar-2026 22:00:05",
    "4 March 2026 22:00:05",
    "Mar 4, 2026 10:00:05 PM",
    "Wed Mar  4 22:00:05 2026",
    "Wed, 04 Mar 2026 22:00:05 GMT",
    "4. März 2026 22:00:05",
    "2026-03-04 23:00:05+01:00",
    "20260304 220005",
  ]) {
    it(`reads ${text}`, () => expect(epoch(text)).toBe(same));
  }

  it("leaves day and month open where both are possible, and only there", () => {
    expect(epoch("03/04/2026 22:00:05", false)).toBe(same);
    expect(parseStamp("03/04/2026")?.date?.form).toBe("ambiguous");
    expect(parseStamp("03.04.2026")?.date?.form).toBe("day-month-year");
    expect(epoch("13/31/2026 10:00:00", false)).toBeNull();
  });

  it("counts elapsed hours, days and minutes", () => {
    const seconds = (text: string) => parseStamp(text)?.secondsOfDay;
    expect(seconds("26:10:00")).toBe(94_200);
    expect(seconds("1.02:03:04")).toBe(93_784);
    expect(seconds("0:00:00:01")).toBe(1);
    expect(seconds("00:01.5")).toBe(1.5);
    expect(seconds("12:00:00 AM")).toBe(0);
    expect(seconds("12:30 PM")).toBe(45_000);
    expect(seconds("10:00:00:500")).toBe(36_000.5);
    expect(parseStamp("10:00:00,25")?.stepSeconds).toBe(0.01);
  });

  it("takes nothing else for a stamp", () => {
    for (const text of [
      "12.61",
      "1772611200",
      "2026-13-04",
      "2026-02-30 10:00:00",
      "25:61:00",
      "13:00 PM",
      "hello",
      "12.6 V",
      "99999999",
      "10:60",
      "",
    ]) {
      expect(parseStamp(text), text).toBeNull();
    }
  });
});
