/**
 * The fast way against the general way, and both against the truth, over generated dialects (fast-check, seeded).
 */
import * as fc from "fast-check";
import { describe, expect, it } from "vitest";
import { createLogReader } from "../../../analysis/log/log-reader.ts";
import type { LogReading } from "../../../analysis/log/sample.ts";
import { ampsRecording, bytesOf, type Dialect, drawLog, plainDialect, voltsRecording } from "./drawn-dialect.ts";

const decimalPoints = fc.constantFrom(",", ";", "\t", "|").chain((delimiter) =>
  fc.record({
    delimiter: fc.constant(delimiter),
    decimal: delimiter === "," ? fc.constant("." as const) : fc.constantFrom("." as const, "," as const),
  }),
);

const dialects: fc.Arbitrary<Dialect> = fc
  .tuple(
    decimalPoints,
    fc.record({
      lineBreak: fc.constantFrom("\n", "\r\n", "\r"),
      time: fc.constantFrom("seconds", "milliseconds", "iso", "isoZone", "date+time", "timeOfDay", "epoch", "epochMs"),
      unit: fc.constantFrom("header", "beside", "column", "none"),
      milli: fc.boolean(),
      header: fc.constant(true),
      preamble: fc.constantFrom(
        [],
        ["Meter export", "Serial,12,34;5", "", "Range: 60 V"],
        ["# handheld A", "# site|yard"],
      ),
      trailingDelimiter: fc.boolean(),
      quoteEvery: fc.constantFrom(0, 0, 7, 1),
      gapEvery: fc.constantFrom(0, 0, 5, 9),
      noiseEvery: fc.constantFrom(0, 0, 6),
    }),
  )
  .map(([sign, rest]) => ({ ...sign, ...rest, milli: rest.milli && rest.unit !== "none" }) as Dialect);

const truths = fc
  .array(fc.record({ step: fc.integer({ min: 1, max: 3000 }), tenths: fc.integer({ min: -9999, max: 159_999 }) }), {
    minLength: 12,
    maxLength: 60,
  })
  .map((rows) => {
    let ms = 0;
    const seconds = rows.map(({ step }, i) => {
      ms += i === 0 ? 0 : step;
      return ms / 1000;
    });
    return { seconds, volts: rows.map(({ tenths }) => tenths / 10_000) };
  });

function read(text: string, way: "fast" | "general", cuts: readonly number[] = []): LogReading {
  const bytes = bytesOf(text);
  const reader = createLogReader("log.csv", [voltsRecording()], {
    way,
    bytesExpected: way === "fast" ? cuts[0] : undefined,
  });
  const ends = [...cuts.map((cut) => cut % (bytes.length + 1)).sort((a, b) => a - b), bytes.length];
  let from = 0;
  for (const end of ends) {
    reader.push(bytes.slice(from, end));
    from = end;
  }
  return reader.finish()[0]!;
}

const runs = Number(process.env.FUZZ_RUNS ?? 200);

describe("the byte scanner", () => {
  it("gives what the general way gives, in chunks cut anywhere, and the truth", () => {
    let worst = 0;
    fc.assert(
      fc.property(dialects, truths, fc.array(fc.nat(), { maxLength: 12 }), (dialect, truth, cuts) => {
        const drawn = drawLog(dialect, truth);
        const fast = read(drawn.text, "fast", cuts);
        expect(fast).toEqual(read(drawn.text, "general"));
        expect([...fast.samples.values]).toHaveLength(drawn.volts.length);
        const start = drawn.seconds[0]!;
        drawn.volts.forEach((volts, i) => {
          worst = Math.max(
            worst,
            Math.abs(fast.samples.values[i]! - volts),
            Math.abs(fast.samples.seconds[i]! - (drawn.seconds[i]! - start)),
          );
        });
        expect(worst).toBeLessThan(1e-6);
        const gapsCounted = fast.rejected
          .filter(({ reason }) => reason === "over-range mark")
          .reduce((sum, { count }) => sum + count, 0);
        expect(gapsCounted).toBe(drawn.gaps);
      }),
      { numRuns: runs, seed: 20_261_125 },
    );
    console.log(`fast way against the truth: worst error ${worst.toExponential(1)} V or s over ${runs} dialects`);
  });

  it("goes on over rows that break the pattern, and takes them as the general way does", () => {
    const rows = Array.from({ length: 400 }, (_, i) => {
      const odd = [
        "",
        "OL",
        "1.2E+01",
        " 12.5",
        "12.5 ",
        "+12.5",
        "-0.004",
        "12",
        "12.",
        ".5",
        "12,5",
        "1 234.5",
        "9.9E37",
        "\u00a012.5",
        "12.345678901234567",
        "12.345678",
        "012.345678",
        "12.3456789",
        "0000000012.5",
        "-0000000.0",
        "12.3456789012345",
        "99999999999999999999",
        "12.5 V",
        "12500 mV",
        "abc",
        "12.5\u0007",
        '"12.5"',
      ];
      return `${(i / 10).toFixed(1)},${i % 3 === 0 ? odd[(i / 3) % odd.length] : (12 + (i % 9) / 100).toFixed(2)}`;
    });
    const text = `Time (s),Voltage (V)\n${rows.join("\n")}\n`;
    const fast = read(text, "fast");
    expect(fast).toEqual(read(text, "general"));
    expect(fast.samples.values.length).toBeGreaterThan(300);
  });

  it("keeps clock and unit in step through every change of either", () => {
    const rows = Array.from({ length: 300 }, (_, i) => {
      const at = new Date(Date.UTC(2026, 2, 14, 20, 0, 0) + i * 311_000);
      const hour = at.getUTCHours();
      const time = `${hour % 12 === 0 ? 12 : hour % 12}:${at.toISOString().slice(14, 19)} ${hour < 12 ? "AM" : "PM"}`;
      const milli = i % 17 < 5;
      return `${at.getUTCMonth() + 1}/${at.getUTCDate()}/2026,${time},${milli ? "612.5" : "12.61"},${milli ? "mV" : "V"}`;
    });
    const text = `Date,Time,Value,Unit\n${rows.join("\n")}\n`;
    const fast = read(text, "fast");
    expect(fast).toEqual(read(text, "general"));
    expect(fast.samples.startEpochSeconds).toBe(Date.UTC(2026, 2, 14, 20) / 1000);
    expect(fast.samples.seconds.at(-1)).toBe(299 * 311);
    expect(new Set(fast.samples.values)).toEqual(new Set([12.61, 0.6125]));
  });

  it.each([
    ["seconds", (i: number) => `${(i / 10).toFixed(1)},`, {}],
    ["no time", () => "", { interval: 0.1 }],
  ])("takes rows with gap marks, %s before them, and counts each where it stands", (_, before, more) => {
    const marks = ["OL", "---", "", "9.9E37", " -OL", "OL V", "n/a", "∞"];
    const cell = (i: number, every: number) =>
      i % every < every / 2 ? marks[Math.floor(i / every) % marks.length] : (12 + (i % 9) / 100).toFixed(2);
    const rows = Array.from({ length: 900 }, (_, i) => `${before(i)}${cell(i, 31)},${cell(i, 47)},${i % 5}`);
    const bytes = bytesOf(`${before(0) === "" ? "" : "Time (s),"}Voltage (V),Current (A),Flags\n${rows.join("\n")}\n`);
    const recordings = [voltsRecording(more), ampsRecording(more)];
    const [fast, general] = (["fast", "general"] as const).map((way) => {
      const reader = createLogReader("log.csv", recordings, { way });
      reader.push(bytes);
      return reader.finish();
    });
    expect(fast).toEqual(general);
    const gaps = fast![0]!.rejected.filter(({ reason }) => /mark|empty/.test(reason));
    expect(gaps.reduce((sum, { count }) => sum + count, 0)).toBeGreaterThan(300);
  });

  it("takes long logs in small chunks as it takes them whole, whatever breaks their lines", () => {
    const seconds = Array.from({ length: 6000 }, (_, i) => i / 4);
    const truth = { seconds, volts: seconds.map((_, i) => (i % 50 > 30 ? 11.9 : 12.6) + (i % 7) / 1000) };
    const changes: Partial<Dialect>[] = [
      { lineBreak: "\n" },
      { lineBreak: "\r\n", delimiter: ";", decimal: ",", time: "date+time", gapEvery: 501, noiseEvery: 1000 },
      { lineBreak: "\r", time: "isoZone", unit: "beside", quoteEvery: 333 },
    ];
    for (const change of changes) {
      const drawn = drawLog({ ...plainDialect, ...change }, truth);
      // A remark with line breaks in quotes, and a quote that is never closed, in the middle of it all.
      const middle = drawn.text.indexOf(change.lineBreak!, drawn.text.length / 2) + change.lineBreak!.length;
      const text = `${drawn.text.slice(0, middle)}"moved${change.lineBreak}the probe"${change.lineBreak}"oops${change.lineBreak}${drawn.text.slice(middle)}`;
      const whole = read(text, "general");
      expect(whole.samples.values).toHaveLength(drawn.volts.length);
      expect(whole.rejected.map(({ reason }) => reason)).toContain("a quote is opened and never closed");
      for (const size of [997, 20_011]) {
        const cuts = Array.from({ length: Math.floor(text.length / size) }, (_, k) => (k + 1) * size);
        expect(read(text, "fast", cuts)).toEqual(whole);
      }
    }
  });
});
