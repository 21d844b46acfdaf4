/** The newcomer's path by keyboard alone: no pointer is used, every step is reached by Tab and taken by a key. */
import { resolve } from "node:path";
import type { Locator, Page } from "playwright-core";
import { describe, expect, it } from "vitest";
import { appInBrowser } from "./app-in-browser.ts";
import { browserPath, newcomer, resultSentence, samplesFolder } from "./app-under-test.ts";

const logs = resolve(samplesFolder, "orchard-sprayer-ground-stud");

describe.skipIf(!browserPath)("by keyboard alone", () => {
  const running = appInBrowser();

  it("describes, measures and finds", async () => {
    const { page, context } = await newcomer(running.browser, running.app.address);
    await press(page, page.locator("summary").filter({ hasText: "New job from a circuit" }), "Enter");
    await press(page, page.getByRole("button", { name: /Chassis return/ }), "Enter");
    await page.getByLabel("Draws keyed").waitFor();
    await reach(page, page.getByLabel("Draws keyed"));
    await page.keyboard.type("11.5");
    await movesAPart(page);

    await press(page, page.getByRole("link", { name: "Measure" }), "Enter");
    const choosing = page.waitForEvent("filechooser");
    await press(page, page.getByRole("button", { name: "Open logs" }), "Enter");
    const files = ["battery.csv", "load.csv", "supply-drop.csv", "return-drop.csv", "clamp.csv"];
    await (await choosing).setFiles(files.map((file) => resolve(logs, file)));
    for (const file of files) {
      await press(page, page.getByRole("article", { name: file }).getByRole("button", { name: /Take it/ }), "Enter");
    }
    await press(page, page.getByRole("link", { name: "See the result" }).first(), "Enter");
    await expect.poll(() => resultSentence(page), { timeout: 15_000 }).toMatch(/Fault[\s\S]*ground-stud/);

    await press(page, page.locator(".strip button").filter({ hasText: "load −" }), "Enter");
    await press(page, page.locator(".strip button").filter({ hasText: "battery −" }), "Space");
    await page
      .getByText(/load − to battery −/)
      .first()
      .waitFor();
    await press(page, page.getByRole("button", { name: "Take this reading" }), "Enter");
    await reach(page, page.getByRole("textbox", { name: "Reading" }));
    await page.keyboard.type("0.62");
    await page.keyboard.press("Enter");
    await page.getByText("Kept: load − to battery −, keyed, engine off: 0.62 V.").waitFor();
    await context.close();
  });
});

/** Alt and an arrow move a part, and it stays in focus. */
async function movesAPart(page: Page): Promise<void> {
  const names = () => page.locator(".loop-editor b").allInnerTexts();
  const before = await names();
  await reach(page, page.locator(".loop-editor summary:has(b)").filter({ hasText: "main fuse" }));
  await page.keyboard.press("Alt+ArrowUp");
  await expect.poll(names).toEqual([before[0], "main fuse", "battery lug", ...before.slice(3)]);
  await page.waitForTimeout(100);
  await page.keyboard.press("Alt+ArrowDown");
  await expect.poll(names).toEqual(before);
}

async function press(page: Page, target: Locator, key: string): Promise<void> {
  await reach(page, target);
  await page.keyboard.press(key);
}

/** Tab until the target has the focus, at most once round the page. */
async function reach(page: Page, target: Locator): Promise<void> {
  await target.waitFor();
  const focused = target.and(page.locator(":focus"));
  for (let steps = 0; steps < 250; steps++) {
    if ((await focused.count()) > 0) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`Tab never reached ${target}`);
}
