/** The browser alone shows the numbers that the command line gives: every field of the diagnosis. */
import { readdirSync, readFileSync } from "node:fs";
import { resolve } from "node:path";
import { describe, expect, it } from "vitest";
import {
  type Diagnosis,
  diagnoseFiles,
  legWords,
  percent,
  type RoundDiagnosis,
  valueForPrint,
} from "../../analysis/index.ts";
import { appInBrowser } from "./app-in-browser.ts";
import { browserPath, newcomer, openSample, samplesFolder } from "./app-under-test.ts";

const samples = [
  ["orchard-sprayer-ground-stud", /Orchard sprayer/],
  ["forest-truck-flat-battery", /Forest patrol truck/],
  ["road-roller-resets", /Road roller/],
] as const;

/** The browser's engine rounds exp, log and pow in their last place otherwise than Node's; nothing else may differ. */
const relativeTolerance = 1e-6;

describe.skipIf(!browserPath)("same numbers as the command line", () => {
  const running = appInBrowser();

  it.each(samples)("%s", async (folder, title) => {
    const files = new Map(
      readdirSync(resolve(samplesFolder, folder)).map((name) => [
        name,
        readFileSync(resolve(samplesFolder, folder, name)),
      ]),
    );
    const expected = diagnoseFiles(folder, files);
    const { page, context } = await newcomer(running.browser, running.app.address);
    await openSample(page, title);
    const coming = page.waitForEvent("download");
    await page.getByRole("button", { name: "Save the diagnosis" }).click();
    const saved = JSON.parse(readFileSync(await (await coming).path(), "utf8")) as Diagnosis;
    const worst = worstDifference(expected.rounds, saved.rounds, folder);
    console.log(`${folder}: worst relative difference between browser and command line ${worst.toExponential(1)}`);
    expect(worst).toBeLessThan(relativeTolerance);
    await page.getByText("Every part in figures").click();
    const rows = await page.getByRole("region", { name: "Every part in figures" }).locator("tbody tr").all();
    const shown = await Promise.all(rows.map((row) => row.locator("td").allInnerTexts()));
    expect(shown).toEqual(saved.rounds.at(-1)!.parts.map(figures));
    await context.close();
  });
});

const figures = (part: RoundDiagnosis["parts"][number]): string[] => [
  legWords[part.leg],
  valueForPrint(part.dropVolts, "V"),
  valueForPrint(part.ohms, "Ω"),
  valueForPrint(part.expectedOhms, "Ω"),
  percent(part.faultProbability),
];

/** Largest relative difference of any number in two values of one shape; anything else that differs fails. */
function worstDifference(a: unknown, b: unknown, path: string): number {
  if (typeof a === "number" && typeof b === "number") return Math.abs(a - b) / Math.max(Math.abs(a), Math.abs(b), 1e-6);
  if (typeof a !== "object" || a === null || typeof b !== "object" || b === null) {
    expect(b, path).toEqual(a);
    return 0;
  }
  expect(Object.keys(b), path).toEqual(Object.keys(a));
  return Object.entries(a).reduce(
    (worst, [key, value]) =>
      Math.max(worst, worstDifference(value, (b as Record<string, unknown>)[key], `${path}.${key}`)),
    0,
  );
}
