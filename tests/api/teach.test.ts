// The door of formats.md section 4: one JSON line a file, exit status 0, 1 or 2, and one sentence for whatever is wrong.
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, test } from "vitest";

const root = join(import.meta.dirname, "../..");
const folder = mkdtempSync(join(tmpdir(), "teach-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function file(name: string, content: string): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

function run(...words: string[]) {
  const { status, stdout, stderr } = spawnSync("node", ["api/run.mjs", "api/teach.ts", ...words], {
    cwd: root,
    encoding: "utf8",
  });
  return { status, stderr, lines: stdout.split("\n").filter((line) => line !== "") };
}

/** A meter that prints its number and unit twice a second. */
function plainMeter(): string {
  const volts = (i: number) => (i < 20 ? "12.47" : i < 40 ? "13.82" : "11.05");
  const bytes = Array.from({ length: 60 }, (_, i) => ({
    seconds: i / 2,
    base64: Buffer.from(`DC ${volts(i)} V\r\n`).toString("base64"),
  }));
  const typed = [
    { seconds: 6, value: 12.47, unit: "V" },
    { seconds: 15, value: 13.82, unit: "V" },
    { seconds: 26, value: 11.05, unit: "V" },
  ];
  return JSON.stringify({ format: "teach/1", bytes, typed });
}

test("a recording gives one line in the shape of taught/1", () => {
  const { status, stderr, lines } = run(file("plain.json", plainMeter()));
  expect([status, stderr, lines.length]).toEqual([0, "", 1]);
  const taught = JSON.parse(lines[0]!);
  expect(Object.keys(taught)).toEqual(["format", "sure", "recipe", "readings", "ask"]);
  expect(taught.format).toBe("taught/1");
  expect(taught.sure).toBeGreaterThan(0.9);
  expect(taught.readings.length).toBe(60);
  expect(taught.readings[59]).toEqual({ seconds: 29.5, value: 11.05, unit: "V" });
});

describe("what cannot be used gets one sentence, and the others are read all the same", () => {
  const lesson = (change: object) => JSON.stringify({ format: "teach/1", bytes: [], typed: [], ...change });
  test.each([
    ["no JSON", "{", /should be JSON/],
    ["an empty file", "", /should be JSON/],
    ["another version", lesson({ format: "teach/2" }), /"teach\/2" cannot be read; this program reads "teach\/1"/],
    ["nothing in it", "null", /should be an object with "format", "bytes" and "typed"/],
    ["no bytes", '{"format":"teach/1"}', /bytes/],
    ["base 64 that is none", lesson({ bytes: [{ seconds: 1, base64: "!!" }] }), /bytes\.0\.base64: expected base 64/],
    [
      "a number too large",
      `{"format":"teach/1","bytes":[],"typed":[{"seconds":1,"value":1e999,"unit":"V"}]}`,
      /typed\.0/,
    ],
    ["a number as text", lesson({ typed: [{ seconds: 1, value: "12", unit: "V" }] }), /typed\.0/],
    ["a unit that is none", lesson({ typed: [{ seconds: 1, value: 12, unit: "kV" }] }), /typed\.0/],
    [
      "bytes out of order",
      lesson({
        bytes: [
          { seconds: 2, base64: "" },
          { seconds: 1, base64: "" },
        ],
      }),
      /bytes\.1\.seconds/,
    ],
  ])("%s", (name, content, sentence) => {
    const bad = file(`${name}.json`, content);
    const { status, stderr, lines } = run(bad, file("empty.json", lesson({})));
    expect([status, stderr, lines.length]).toEqual([1, "", 2]);
    const { file: named, error } = JSON.parse(lines[0]!);
    expect(named).toBe(bad);
    expect(error.message).toMatch(sentence);
    expect(error.message).not.toMatch(/\n| at .*:\d+:\d+/);
    expect(JSON.parse(lines[1]!)).toMatchObject({ format: "taught/1", sure: 0, recipe: null, readings: [] });
  });

  test("a file that is not there", () => {
    const { status, lines } = run(join(folder, "nowhere.json"));
    expect([status, JSON.parse(lines[0]!).error.message]).toEqual([
      1,
      `${join(folder, "nowhere.json")}: there is no such file`,
    ]);
  });
});

test("called wrongly: exit status 2 and how it should be", () => {
  for (const words of [[], ["--nonsense"]]) {
    const { status, stderr, lines } = run(...words);
    expect([status, lines]).toEqual([2, []]);
    expect(stderr).toMatch(/Usage: npm run --silent teach -- FILE/);
  }
});
