/** Two browsers that follow one server: what one keeps the other shows, a conflict is shown side by side, offline work waits. */
import type { Page } from "playwright-core";
import { describe, expect, it } from "vitest";
import { appInBrowser } from "./app-in-browser.ts";
import { browserPath, newcomer, resultSentence } from "./app-under-test.ts";

describe.skipIf(!browserPath)("two browsers and a server", () => {
  const running = appInBrowser();

  const title = (page: Page) => page.getByLabel("Job", { exact: true });
  const titlesKept = async (words: string): Promise<string[]> => {
    const response = await fetch(`${running.app.address}api/jobs?q=${words}`);
    return ((await response.json()) as { jobs: { title: string }[] }).jobs.map((job) => job.title);
  };
  /** What a browser reports of its own: a lost race, a log not sent yet, no network. */
  const expected = /status of (412|404)|ERR_INTERNET_DISCONNECTED/;
  /** Goes to the settings, looks at the server now, and comes back. */
  async function lookNow(page: Page): Promise<void> {
    const here = page.url();
    await page.goto(new URL("#/settings", here).href);
    await page.getByRole("button", { name: "Look now" }).click();
    await page.getByText("what other devices change there comes here").waitFor();
    await page.goto(here);
  }

  it("keep the same job, show both sides of a conflict, and end up equal", async () => {
    const one = await newcomer(running.browser, running.app.address, "laptop", { follows: true });
    const two = await newcomer(running.browser, running.app.address, "phone", { follows: true });
    await one.page.getByText("New job from a circuit").click();
    await one.page.getByRole("button", { name: /Fused pair/ }).click();
    await title(one.page).fill("Harbour pilot boat");
    await one.page.goto(`${running.app.address}#/`);
    await one.page.getByText("on the server", { exact: true }).waitFor();
    await lookNow(two.page);
    await two.page.getByRole("link", { name: /Harbour pilot boat/ }).click();
    await two.page.getByRole("link", { name: "Circuit" }).click();
    await expect.poll(() => title(two.page).inputValue()).toBe("Harbour pilot boat");

    await two.context.setOffline(true);
    await title(two.page).fill("Pilot boat, port side");
    await one.page.getByRole("link", { name: /Harbour pilot boat/ }).click();
    await title(one.page).fill("Pilot boat, starboard");
    await one.page.goto(`${running.app.address}#/`);
    await expect.poll(() => titlesKept("starboard"), { timeout: 10_000 }).toEqual(["Pilot boat, starboard"]);
    await two.context.setOffline(false);
    await two.page.getByText("Changed on another device too").click();
    await two.page.getByRole("cell", { name: "Pilot boat, starboard" }).waitFor();
    await two.page.getByRole("cell", { name: "Pilot boat, port side" }).waitFor();
    await two.page.screenshot({ path: "screenshots/conflict-phone.png", fullPage: true });
    await title(two.page).fill("Pilot boat, both sides");
    await two.page.getByRole("button", { name: "Keep what is on this device" }).click();
    await two.page.getByText("Changed on another device too").waitFor({ state: "detached" });
    await lookNow(one.page);
    await one.page.getByRole("link", { name: /Pilot boat, both sides/ }).waitFor();
    expect([...one.errors, ...two.errors].filter((error) => !expected.test(error))).toEqual([]);
    await one.context.close();
    await two.context.close();
  });

  it("brings the logs along", async () => {
    const one = await newcomer(running.browser, running.app.address, "laptop", { follows: true });
    const two = await newcomer(running.browser, running.app.address, "phone", { follows: true });
    await one.page.getByText("Sample jobs", { exact: true }).click();
    await one.page.getByRole("button", { name: /Orchard sprayer/ }).click();
    await one.page.waitForURL(/\/find/);
    await one.page.getByRole("link", { name: "all jobs" }).click();
    await one.page
      .locator(".job-entry", { hasText: "Orchard sprayer" })
      .getByText("on the server", { exact: true })
      .waitFor();
    await lookNow(two.page);
    await two.page.getByRole("link", { name: /Orchard sprayer/ }).click();
    await expect.poll(() => resultSentence(two.page), { timeout: 15_000 }).toContain("ground-stud");
    expect([...one.errors, ...two.errors].filter((error) => !expected.test(error))).toEqual([]);
    await one.context.close();
    await two.context.close();
  });

  it("offers a phone a code, or says what it takes", async () => {
    const { page, context } = await newcomer(running.browser, `${running.app.address}#/settings`, "phone", {
      follows: true,
    });
    await page.getByRole("button", { name: "Pair a phone" }).click();
    await page.getByText("start it with HOST=0.0.0.0").waitFor();
    await context.close();
  });
});
