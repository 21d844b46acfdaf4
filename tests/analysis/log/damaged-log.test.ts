/**
 * Files that are no log, and logs that were hurt: each gets samples or one clear Problem, soon, and never a guess.
 * The mutations are seeded; FUZZ_SECONDS lengthens the run by hand.
 */
import { describe, expect, it } from "vitest";
import type { Recording } from "../../../analysis/job/job.ts";
import { readLog } from "../../../analysis/log/log-reader.ts";
import { Problem, type ProblemPlace } from "../../../analysis/problem.ts";
import { chance, hurt } from "../../fixtures/hurt.ts";
import { bytesOf, type Dialect, drawLog, plainDialect, voltsRecording } from "./drawn-dialect.ts";

const rows = Array.from({ length: 40 }, (_, i) => `${i},12.${i + 10}`).join("\n");
const repeat = (text: string, bytes: number): string => text.repeat(Math.ceil(bytes / text.length));

interface Refusal {
  readonly bytes: () => Uint8Array | string;
  readonly recording?: Partial<Recording>;
  readonly says: RegExp;
  readonly place: ProblemPlace;
}

const refusals: Record<string, Refusal> = {
  "an empty file": { bytes: () => "", says: /is empty/, place: {} },
  "a web page": {
    bytes: () => "<!DOCTYPE html>\n<html><body>1,2\n3,4</body></html>",
    says: /web page/,
    place: { line: 1 },
  },
  "a workbook": {
    bytes: () => Uint8Array.of(0x50, 0x4b, 3, 4, 20, 0, 0, 0),
    says: /workbook.*CSV/,
    place: { line: 1 },
  },
  JSON: { bytes: () => '[{"t":1,"v":2}]', says: /JSON/, place: { line: 1 } },
  "bytes of any kind": {
    bytes: () => Uint8Array.from({ length: 5000 }, (_, i) => (i * i * 7919 + i * 31) % 256),
    says: /no text.*byte \d+ is 0x/,
    place: { line: 1 },
  },
  zeros: { bytes: () => new Uint8Array(100_000), says: /no text/, place: { line: 1 } },
  "prose without numbers": {
    bytes: () => repeat("the set resets when keyed\n", 20_000_000),
    says: /no rows of numbers/,
    place: { line: 1 },
  },
  "a header alone": { bytes: () => "Time (s),Voltage (V)\n", says: /no rows of numbers/, place: { line: 1 } },
  "over-range all along": {
    bytes: () => `Time (s),U (V)\n${rows.replace(/12\.\d+/g, "OL")}\n`,
    says: /no row holds a number/,
    place: { column: "U (V)" },
  },
  "a quote never closed in the header": {
    bytes: () => `Time (s),"U (V)\n${rows}\n`,
    says: /quote.*never closed/,
    place: { line: 1, column: 2 },
  },
  "a quote never closed over a large file": {
    bytes: () => `Time (s),U (V)\n"${repeat(`${rows}\n`, 20_000_000)}`,
    says: /quote.*never closed/,
    place: { line: 2, column: 1 },
  },
  "a million columns": {
    bytes: () => `${Array.from({ length: 1_000_000 }, (_, i) => i).join(",")}\n`,
    says: /more than 4096 columns/,
    place: { line: 1, column: 4097 },
  },
  "a line that never ends": {
    bytes: () => repeat("a long word ", 20_000_000),
    says: /longer than/,
    place: { line: 1 },
  },
  "five million lines without time": {
    bytes: () => `U (V)\n${repeat("12.61\n", 30_000_000)}`,
    says: /should state 'interval'/,
    place: { line: 1, field: "interval" },
  },
  "a count of rows and no time": {
    bytes: () => `No.,U (V)\n${rows}\n`,
    says: /should state 'interval'/,
    place: { line: 1, field: "interval" },
  },
  kiloohms: { bytes: () => `Time (s),R (kΩ)\n${rows}\n`, says: /volts.*kΩ/, place: { line: 1 } },
  "ohms beside the number": {
    bytes: () => `Time (s),Value\n${rows.replaceAll("\n", " Ω\n")} Ω\n`,
    says: /volts.*Ω/,
    place: { line: 1 },
  },
  "AC in the header": {
    bytes: () => `Time (s),U (V AC)\n${rows}\n`,
    says: /AC/,
    place: { line: 1, column: "U (V AC)" },
  },
  "AC in a column of modes": {
    bytes: () => `Time (s),Value,Unit,Mode\n${rows.replaceAll("\n", ",V,AC\n")},V,AC\n`,
    says: /AC/,
    place: { line: 1, column: "Value" },
  },
  "amps where volts are asked for": {
    bytes: () => `Time (s),I (A)\n${rows}\n`,
    says: /in volts.*'I \(A\)' in A/,
    place: { line: 1 },
  },
  "a column that is not there": {
    bytes: () => `Time (s),U (V)\n${rows}\n`,
    recording: { column: "CH2" },
    says: /'Time \(s\)', 'U \(V\)'/,
    place: { line: 1, column: "CH2" },
  },
  "a time column that is not there": {
    bytes: () => `Time (s),U (V)\n${rows}\n`,
    recording: { timeColumn: 7 },
    says: /no such column/,
    place: { line: 1, column: 7, field: "timeColumn" },
  },
  "two columns that could be meant": {
    bytes: () => `Time (s),CH1 (V),CH2 (V)\n${rows.replaceAll("\n", ",1\n")},1\n`,
    says: /'CH1 \(V\)', 'CH2 \(V\)'.*'column'/,
    place: { line: 1, field: "column" },
  },
  "a start that is no time": {
    bytes: () => `Time (s),U (V)\n${rows}\n`,
    recording: { startTime: "yesterday" },
    says: /2026-03-04T10:00:00.*yesterday/,
    place: { field: "startTime" },
  },
  "a unit of something else": {
    bytes: () => `Time (s),U (V)\n${rows}\n`,
    recording: { unit: "kΩ" },
    says: /unit of volts.*kΩ/,
    place: { field: "unit" },
  },
};

describe("files that cannot be read", () => {
  for (const [name, { bytes, recording, says, place }] of Object.entries(refusals)) {
    it(`refuses ${name} in one sentence, within seconds`, () => {
      const given = bytes();
      const file = typeof given === "string" ? bytesOf(given) : given;
      const start = performance.now();
      const problem = problemOf(() => readLog("log.csv", file, [voltsRecording(recording)]));
      expect(performance.now() - start).toBeLessThan(5000);
      expect(problem?.reason).toMatch(says);
      expect(problem?.place).toEqual({ file: "log.csv", ...place });
      expect(problem?.message).not.toMatch(/\n/);
    });
  }
});

function problemOf(work: () => unknown): Problem | null {
  try {
    work();
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  return null;
}

const whole = {
  seconds: Array.from({ length: 150 }, (_, i) => i / 2),
  volts: Array.from({ length: 150 }, (_, i) => (i % 40 > 20 ? 11.9 : 12.6) + (i % 3) / 100),
};
const dialects: readonly Partial<Dialect>[] = [
  {},
  { delimiter: ";", decimal: ",", time: "date+time", unit: "beside", lineBreak: "\r\n" },
  { delimiter: "\t", time: "iso", gapEvery: 7, noiseEvery: 11, preamble: ["Meter export", "Range: 60 V"] },
  { time: "timeOfDay", unit: "column", milli: true, quoteEvery: 3 },
  { delimiter: "|", time: "epochMs", trailingDelimiter: true },
];

describe("logs that were hurt", () => {
  it("gives samples or a Problem, no NaN, a clock that never falls, and soon", () => {
    const random = chance(4);
    const until = performance.now() + 1000 * Number(process.env.FUZZ_SECONDS ?? 2);
    let read = 0;
    let refused = 0;
    let slowest = 0;
    for (let round = 0; performance.now() < until || round < 200; round++) {
      const drawn = drawLog({ ...plainDialect, ...dialects[round % dialects.length] }, whole);
      const bytes = hurt(bytesOf(drawn.text), random);
      const start = performance.now();
      const problem = problemOf(() => {
        const { samples } = readLog("log.csv", bytes, [voltsRecording()])[0]!;
        expect(samples.seconds).toHaveLength(samples.values.length);
        expect(samples.values.every(Number.isFinite), `round ${round}`).toBe(true);
        expect(samples.gapSeconds.every(Number.isFinite), `round ${round}`).toBe(true);
        expect(
          samples.seconds.every((at, i) => Number.isFinite(at) && (i === 0 || at >= samples.seconds[i - 1]!)),
          `round ${round}`,
        ).toBe(true);
        read++;
      });
      slowest = Math.max(slowest, performance.now() - start);
      if (problem !== null) refused++;
    }
    console.log(`hurt logs: ${read} read, ${refused} refused, the slowest in ${slowest.toFixed(0)} ms`);
    expect(read).toBeGreaterThan(refused);
    expect(slowest).toBeLessThan(2000);
  });
});
