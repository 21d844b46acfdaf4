/** Jobs in the browser: two windows on one, search, templates, undo, a full storage, folders in and out by button and by drop. */
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { appInBrowser } from "./app-in-browser.ts";
import { browserPath, newcomer, resultSentence, samplesFolder } from "./app-under-test.ts";

describe.skipIf(!browserPath)("jobs in the browser", () => {
  const running = appInBrowser();

  it("two windows do not overwrite each other", async () => {
    const { page: first, context } = await newcomer(running.browser, running.app.address);
    await first.getByText("New job from a circuit").click();
    await first.getByRole("button", { name: /Fused pair/ }).click();
    await first.getByLabel("Job", { exact: true }).fill("Harbour pilot boat");
    await first.getByText("saved", { exact: true }).waitFor();
    const second = await context.newPage();
    await second.goto(first.url());
    await expect.poll(() => second.getByLabel("Job", { exact: true }).inputValue()).toBe("Harbour pilot boat");

    await Promise.all([first.getByLabel("Draws keyed").fill("8"), second.getByLabel("Resets below").fill("11")]);
    await first.getByLabel("Job", { exact: true }).fill("Pilot boat");
    for (const page of [first, second]) {
      await expect.poll(() => page.getByLabel("Draws keyed").inputValue()).toBe("8");
      await expect.poll(() => page.getByLabel("Resets below").inputValue()).toBe("11");
      await expect.poll(() => page.getByLabel("Job", { exact: true }).inputValue()).toBe("Pilot boat");
    }

    // typed in both at once, each letter a save: neither loses a letter nor takes back one of the other's
    const title = "Pilot boat of the inner harbour, wheelhouse set";
    const customer = "Harbour office, pilot service, quay by the fuel berth";
    await second.getByText("Vehicle, customer, notes").click();
    await Promise.all([
      first.getByLabel("Job", { exact: true }).pressSequentially(title.slice("Pilot boat".length), { delay: 4 }),
      second.getByLabel("Customer").pressSequentially(customer, { delay: 4 }),
    ]);
    for (const page of [first, second]) {
      await expect.poll(() => page.getByLabel("Job", { exact: true }).inputValue()).toBe(title);
      await expect.poll(() => page.getByLabel("Customer").inputValue()).toBe(customer);
    }
    await context.close();
  });

  it("searches, copies as a template, deletes and brings back", async () => {
    const { page, context } = await newcomer(running.browser, running.app.address, "phone");
    await page.getByText("New job from a circuit").click();
    await page.getByRole("button", { name: /Boat with bus bars/ }).click();
    await page.getByLabel("Job", { exact: true }).fill("Ferry tender");
    await page.locator(".loop-editor summary:has(b)").filter({ hasText: "branch fuse out" }).click();
    await page.getByRole("button", { name: "Remove", exact: true }).click();
    await page.getByText("branch fuse out removed.").waitFor();
    await page.getByRole("button", { name: "Undo" }).click();
    await page.locator(".loop-editor b").getByText("branch fuse out").waitFor();

    await page.getByRole("link", { name: "all jobs" }).click();
    await page.getByLabel("More for Ferry tender").click();
    await page.getByRole("button", { name: "Use as template" }).click();
    await expect.poll(() => page.getByLabel("Job", { exact: true }).inputValue()).toBe("Ferry tender (copy)");
    await page.getByRole("link", { name: "all jobs" }).click();
    await page.getByLabel("Search").fill("copy");
    await expect.poll(() => page.locator(".job-entry").count()).toBe(1);
    await page.getByLabel("More for Ferry tender (copy)").click();
    await page.getByRole("button", { name: "Delete" }).click();
    await page.getByText("No job has “copy” in it.").waitFor();
    await page.getByRole("button", { name: "Undo" }).click();
    await page.getByRole("link", { name: /Ferry tender \(copy\)/ }).waitFor();
    await context.close();
  });

  it("says clearly when the storage is full, and saves again when there is room", async () => {
    const { page, context } = await newcomer(running.browser, running.app.address);
    await page.addInitScript(`
      const put = IDBObjectStore.prototype.put;
      IDBObjectStore.prototype.put = function (...given) {
        if (globalThis.full) throw new DOMException("no room", "QuotaExceededError");
        return put.apply(this, given);
      };`);
    await page.reload();
    await page.getByText("New job from a circuit").click();
    await page.getByRole("button", { name: /Fused pair/ }).click();
    await page.evaluate("globalThis.full = true");
    await page.getByLabel("Job", { exact: true }).fill("Typed while full");
    await page.getByText(/The browser's storage is full/).waitFor();
    expect(await page.getByLabel("Job", { exact: true }).inputValue()).toBe("Typed while full");
    await page.evaluate("globalThis.full = false");
    await page.getByLabel("Draws keyed").fill("9");
    await page.getByText(/The browser's storage is full/).waitFor({ state: "detached" });
    await page.reload();
    await expect.poll(() => page.getByLabel("Job", { exact: true }).inputValue()).toBe("Typed while full");
    await context.close();
  });

  it("takes a job folder and logs that are dropped on the page", async () => {
    const { page, context } = await newcomer(running.browser, running.app.address);
    const session = await context.newCDPSession(page);
    const folder = resolve(samplesFolder, "orchard-sprayer-ground-stud");
    const drop = async (...files: string[]) => {
      for (const type of ["dragEnter", "dragOver", "drop"] as const) {
        const data = { items: [], files: files.map((file) => resolve(folder, file)), dragOperationsMask: 1 };
        await session.send("Input.dispatchDragEvent", { type, x: 400, y: 300, data });
      }
    };
    await drop("job.json", "battery.csv", "load.csv", "supply-drop.csv", "return-drop.csv", "clamp.csv");
    expect(await resultSentence(page)).toContain("ground-stud");
    await page.getByRole("link", { name: "all jobs" }).click();
    await page.getByRole("heading", { name: "Where do the volts go?" }).waitFor();
    await drop("load.csv", "battery.csv");
    for (const file of ["load.csv", "battery.csv"]) {
      await page
        .getByRole("article", { name: file })
        .getByText(/values from/)
        .waitFor();
    }
    await context.close();
  });

  it("hands a job out as a folder and takes it in again, alike", async () => {
    const { page, context } = await newcomer(running.browser, running.app.address);
    await page.getByText("New job from a circuit").click();
    await page.getByRole("button", { name: /Long trailer run/ }).click();
    await page.getByLabel("Job", { exact: true }).fill("Hay trailer");
    await page.getByRole("link", { name: "all jobs" }).click();
    await page.getByLabel("More for Hay trailer").click();
    const coming = page.waitForEvent("download");
    await page.getByRole("button", { name: "Export folder" }).click();
    const path = await (await coming).path();
    const choosing = page.waitForEvent("filechooser");
    await page.getByRole("button", { name: "Open logs or a job folder" }).click();
    await (await choosing).setFiles([
      { name: "hay-trailer.zip", mimeType: "application/zip", buffer: readFileSync(path) },
    ]);
    await page.getByText(/should be lost of/).waitFor();
    await page.getByRole("link", { name: "all jobs" }).click();
    await expect.poll(() => page.getByRole("link", { name: /Hay trailer/ }).count()).toBe(2);
    await context.close();
  });
});
