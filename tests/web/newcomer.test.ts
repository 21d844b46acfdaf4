/**
 * A newcomer's path from nothing to the named fault, with the logs of the sample 'orchard-sprayer-ground-stud' (invented;
 * its truth: 0.58 V at the ground stud), on a phone and on a laptop.
 */
import { resolve } from "node:path";
import type { Page } from "playwright-core";
import { describe, expect, it } from "vitest";
import { appInBrowser } from "./app-in-browser.ts";
import { browserPath, newcomer, resultSentence, type Size, samplesFolder } from "./app-under-test.ts";

const logs = resolve(samplesFolder, "orchard-sprayer-ground-stud");

describe.skipIf(!browserPath)("a newcomer", () => {
  const running = appInBrowser();

  it.each<Size>(["phone", "laptop"])("describes, measures and finds on a %s", async (size) => {
    const { page, context, errors } = await newcomer(running.browser, running.app.address, size);
    await describeTheCircuit(page);
    await openTheLogs(page);
    const first = await resultAfterMeasuring(page);
    expect(first).toContain("Fault");
    expect(first).toMatch(/ground.stud/);
    await splitTheGroup(page);
    await page.getByRole("link", { name: "See the result" }).first().click();
    await expect
      .poll(() => resultSentence(page), { timeout: 10_000 })
      .toMatch(/bad joint at ground-stud eats 0\.5\d V/);
    expect(errors).toEqual([]);
    await context.close();
  });

  it("types first: one reading before anything is described", async () => {
    const { page, context } = await newcomer(running.browser, running.app.address, "phone");
    await page.getByRole("button", { name: "Type a reading" }).click();
    await typeReading(page, "load −", "battery −", "0.62");
    await page.getByRole("link", { name: "See the result" }).first().click();
    expect(await resultSentence(page)).toMatch(/Fault|Not enough readings yet/);
    await page.reload();
    await page.getByRole("link", { name: "Measure" }).click();
    await page.getByText("load − to battery −, keyed, engine off: 0.62 V").waitFor();
    await context.close();
  });
});

async function describeTheCircuit(page: Page): Promise<void> {
  await page.getByText("New job from a circuit").click();
  await page.getByRole("button", { name: /Chassis return/ }).click();
  await page.getByLabel("Job", { exact: true }).fill("Orchard sprayer");
  await page.getByLabel("Draws keyed").fill("11.5");
  await page.getByLabel("Draws receiving").fill("1.2");
  const answer = page.getByText(/should be lost of/);
  const before = await answer.textContent();
  await page.getByText("feed", { exact: true }).first().click();
  await page.getByLabel("Size").first().fill("8");
  await page.getByLabel("Length").first().fill("3,6");
  expect(await answer.textContent()).not.toBe(before);
  await addTestPointAfterGroundLead(page);
}

async function addTestPointAfterGroundLead(page: Page): Promise<void> {
  await page.getByText("ground lead", { exact: true }).first().click();
  await page.getByText("Add after ground lead").click();
  await page.getByRole("button", { name: "Test point" }).last().click();
}

const places: readonly [file: string, red: string, black: string][] = [
  ["battery.csv", "battery +", "battery −"],
  ["load.csv", "load +", "load −"],
  ["supply-drop.csv", "battery +", "load +"],
  ["return-drop.csv", "load −", "battery −"],
];

async function openTheLogs(page: Page): Promise<void> {
  await page.getByRole("link", { name: "Measure" }).click();
  const files = [...places.map(([file]) => file), "clamp.csv"].map((file) => resolve(logs, file));
  const choosing = page.waitForEvent("filechooser");
  await page.getByRole("button", { name: "Open logs" }).click();
  await (await choosing).setFiles(files);
  for (const [file, red, black] of places) {
    const card = page.getByRole("article", { name: file });
    await card.getByText(/values from/).waitFor();
    await card.getByLabel("Red probe (+) on").selectOption({ label: red });
    await card.getByLabel("Black probe (−) on").selectOption({ label: black });
    await card.getByRole("button", { name: /Take it/ }).click();
  }
  const clamp = page.getByRole("article", { name: "clamp.csv" });
  await clamp.getByText(/values from/).waitFor();
  await clamp.getByLabel("Clamp round").selectOption({ label: "feed" });
  await clamp.getByRole("button", { name: /Take it/ }).click();
}

async function resultAfterMeasuring(page: Page): Promise<string> {
  await page.getByRole("link", { name: "See the result" }).first().click();
  await expect.poll(() => resultSentence(page), { timeout: 15_000 }).toContain("Fault");
  return resultSentence(page);
}

async function splitTheGroup(page: Page): Promise<void> {
  await page.getByRole("link", { name: "Measure" }).click();
  await page.getByRole("link", { name: "Type another reading" }).click();
  await typeReading(page, "load −", "point", "0.022");
  await typeReading(page, "point", "body at load", "0.587");
}

/** With the pad, as a gloved finger would. */
async function typeReading(page: Page, red: string, black: string, figures: string): Promise<void> {
  const form = page.getByRole("region", { name: "Type a reading" });
  await form.getByLabel("Red probe (+) on").selectOption({ label: red });
  await form.getByLabel("Black probe (−) on").selectOption({ label: black });
  for (const figure of figures)
    await form.getByRole("button", { name: figure === "." ? "Point" : figure, exact: true }).click();
  await form.getByRole("button", { name: "Keep it" }).click();
  await form.getByText(/^Kept:/).waitFor();
}
