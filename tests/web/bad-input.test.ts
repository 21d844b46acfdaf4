/** What the reader refuses is shown as its own sentence beside the file; nothing typed is lost, and the rest goes on. */
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import type { Page } from "playwright-core";
import { describe, expect, it } from "vitest";
import { Problem, parseJob, readLog } from "../../analysis/index.ts";
import { appInBrowser } from "./app-in-browser.ts";
import { browserPath, newcomer, openSample, resultSentence, samplesFolder } from "./app-under-test.ts";

const bad = [
  { name: "words.csv", bytes: Buffer.from("time,remark\nmorning,all well\nnoon,still well\n") },
  { name: "picture.csv", bytes: Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0, 0, 0, 13]) },
  { name: "nothing.csv", bytes: Buffer.alloc(0) },
];

describe.skipIf(!browserPath)("bad input", () => {
  const running = appInBrowser();

  it("names what a log lacks beside the log, and weighs the rest", async () => {
    const { page, context } = await newcomer(running.browser, running.app.address);
    await openSample(page, /Orchard sprayer/);
    await page.getByRole("link", { name: "Measure" }).click();
    await choose(
      page,
      "Open logs",
      bad.map(({ name, bytes }) => ({ name, mimeType: "text/csv", buffer: bytes })),
    );
    for (const { name, bytes } of bad) {
      const card = page.getByRole("article", { name });
      expect(await card.getByRole("alert").textContent()).toBe(sentenceOf(name, bytes));
    }
    const words = page.getByRole("article", { name: "words.csv" });
    await words.getByLabel("Red probe (+) on").selectOption({ label: "load +" });
    await words.getByLabel("Black probe (−) on").selectOption({ label: "load −" });
    await words.getByRole("button", { name: /Take it/ }).click();
    await page.getByRole("link", { name: "Result", exact: true }).click();
    await page.getByText("The rest was weighed without it.").waitFor();
    expect(await resultSentence(page)).toContain("ground-stud");
    await context.close();
  });

  it("refuses a damaged folder and a job with an unknown style in the reader's words", async () => {
    const { page, context } = await newcomer(running.browser, running.app.address);
    const job = readFileSync(resolve(samplesFolder, "orchard-sprayer-ground-stud/job.json"), "utf8").replace(
      '"ring-lug"',
      '"ring-bolt"',
    );
    await choose(page, "Open logs or a job folder", [
      { name: "job.json", mimeType: "application/json", buffer: Buffer.from(job) },
    ]);
    expect(await page.getByRole("alert").textContent()).toBe(problemOf(() => parseJob(job)));
    await choose(page, "Open logs or a job folder", [
      { name: "half.zip", mimeType: "application/zip", buffer: Buffer.from("PK\u0003\u0004 cut short") },
    ]);
    await page.getByText(/half\.zip: should be a whole zip/).waitFor();
    await page.getByText("None yet.").waitFor();
    await context.close();
  });

  it("keeps what was typed, right or wrong, through a reload", async () => {
    const { page, context } = await newcomer(running.browser, running.app.address, "phone");
    await page.getByText("New job from a circuit").click();
    await page.getByRole("button", { name: /Chassis return/ }).click();
    const field = page.getByLabel("Draws keyed");
    await field.fill("about 12");
    await page.getByText("Draws keyed: should be a number from 0.01 up to 10000 A; got “about 12”.").waitFor();
    await page.getByText("saved", { exact: true }).waitFor();
    await page.reload();
    expect(await field.inputValue()).toBe("about 12");
    await field.fill("12");
    await page.getByText(/allowed at 12 A/).waitFor();
    await context.close();
  });
});

async function choose(
  page: Page,
  button: string,
  files: { name: string; mimeType: string; buffer: Buffer }[],
): Promise<void> {
  const choosing = page.waitForEvent("filechooser");
  await page.getByRole("button", { name: button }).click();
  await (await choosing).setFiles(files);
}

const sentenceOf = (name: string, bytes: Uint8Array): string =>
  problemOf(() => readLog(name, bytes, [{ file: name, round: "before", quantity: "volts" }]));

function problemOf(read: () => unknown): string {
  try {
    read();
  } catch (error) {
    if (error instanceof Problem) return error.message;
    throw error;
  }
  throw new Error("this should be refused");
}
