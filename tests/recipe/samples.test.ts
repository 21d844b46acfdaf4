/**
 * The sample jobs are what the recipe makes of their seeds, each cause is among them, and none is heavy.
 */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { describe, expect, it } from "vitest";
import { drawSample, sampleFiles, samplesReadme } from "../fixtures/recipe/sample-folder.ts";
import { samples } from "../fixtures/recipe/samples.ts";
import { causes, type Truth } from "../fixtures/recipe/truth.ts";

const root = fileURLToPath(new URL("../../sample-logs/", import.meta.url));
const truthOf = (folder: string): Truth => JSON.parse(readFileSync(join(root, folder, "truth.json"), "utf8"));

describe("sample-logs", () => {
  it.each(samples)("$folder is what the recipe draws", async (sample) => {
    const files = sampleFiles(sample, await drawSample(sample));
    expect(readdirSync(join(root, sample.folder)).sort()).toEqual([...files.keys()].sort());
    for (const [name, text] of files) expect(readFileSync(join(root, sample.folder, name), "utf8")).toBe(text);
  });

  it("has a list that says what each is", async () => {
    expect(readFileSync(join(root, "README.md"), "utf8")).toBe(await samplesReadme());
  });

  it("shows every cause, two faults at once, and both rounds of a repair", () => {
    const truths = samples.map((sample) => truthOf(sample.folder));
    const shown = new Set(truths.flatMap((truth) => truth.rounds.flatMap((round) => round.faults.map((f) => f.cause))));
    expect([...shown].sort()).toEqual([...causes].sort());
    expect(truths.some((truth) => truth.rounds[0]!.faults.length === 2)).toBe(true);
    expect(truths.some((truth) => truth.rounds.length === 2)).toBe(true);
  });

  it("keeps each folder below 300 KiB", () => {
    for (const { folder } of samples) {
      const bytes = readdirSync(join(root, folder)).reduce(
        (sum, name) => sum + readFileSync(join(root, folder, name)).length,
        0,
      );
      expect(bytes).toBeLessThan(300 * 1024);
      expect(existsSync(join(root, folder, "expected.json"))).toBe(true);
    }
  });
});
