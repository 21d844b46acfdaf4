/** A repair on the phone: a new round, what was done, the forecast against what is read, checklist, photos, hand-over. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { unzipSync } from "fflate";
import type { Page } from "playwright-core";
import { describe, expect, it } from "vitest";
import { type Job, photoFacts } from "../../analysis/index.ts";
import { drawnPhoto, placeWords } from "../fixtures/photos.ts";
import { browserPath, launch, newcomer, openSample, resultSentence, screenshots, startApp } from "./app-under-test.ts";

async function typed(page: Page, text: string): Promise<void> {
  await page.getByRole("textbox", { name: "Reading" }).fill(text);
  await page.getByRole("button", { name: "Keep it" }).click();
  await page.getByText(/^Kept:/).waitFor();
}

async function exported(page: Page): Promise<Record<string, Uint8Array>> {
  await page.getByRole("link", { name: "all jobs" }).click();
  await page.getByText("More", { exact: true }).first().click();
  const coming = page.waitForEvent("download");
  await page.getByRole("button", { name: "Export folder" }).first().click();
  return unzipSync(readFileSync(await (await coming).path()));
}

describe.skipIf(!browserPath)("a repair", () => {
  it("is written down, measured again and weighed", async () => {
    const app = await startApp();
    const browser = await launch();
    const { page, context, errors } = await newcomer(browser, app.address, "phone");
    await openSample(page, /Orchard sprayer/);
    await resultSentence(page);
    await page.getByRole("link", { name: "Repair", exact: true }).click();
    await page.getByRole("heading", { name: "To do" }).waitFor();

    await page.getByRole("button", { name: "start a new round" }).click();
    await page.getByRole("heading", { name: "What was done before “after”" }).waitFor();
    await page.getByRole("button", { name: "Ground stud cleaned and tightened" }).click();
    await page.getByRole("textbox", { name: "Something else that was done" }).fill("Paint scraped off under the lug");
    await page.getByRole("button", { name: "Add", exact: true }).click();
    await page.getByText("Not measured again yet.").waitFor();
    await page.getByLabel("Another part was renewed or replaced").selectOption("feed");
    await page.getByLabel("Size").fill("8");

    await page.getByRole("link", { name: "Read the volts at the set now" }).click();
    await typed(page, "12.03");
    await page.getByRole("link", { name: "Repair", exact: true }).click();
    await page.getByRole("rowheader", { name: "Gained" }).waitFor({ timeout: 30_000 });

    const question = page.getByRole("group", { name: "A grommet in every feed-through" });
    await question.getByRole("button", { name: "Yes" }).click();
    await page
      .getByRole("group", { name: /^Cable clear of exhaust/ })
      .getByRole("button", { name: "No" })
      .click();
    expect(await question.getByRole("button", { name: "Yes" }).getAttribute("aria-pressed")).toBe("true");
    await page.getByText("13 of 15 open.").waitFor();
    await page.getByRole("heading", { name: "Not to be handed over" }).waitFor({ timeout: 30_000 });
    expect(await page.locator(".missing a").count()).toBeGreaterThan(3);

    const choosing = page.waitForEvent("filechooser");
    await page.getByRole("button", { name: "Choose photos" }).click();
    const camera = Buffer.from(drawnPhoto({ width: 2400, height: 1800, orientation: 6 }));
    await (await choosing).setFiles([
      { name: "yard-51N.jpg", mimeType: "image/jpeg", buffer: camera },
      { name: "notes.heic", mimeType: "image/heic", buffer: Buffer.from("no picture") },
    ]);
    await page.getByText(/^notes\.heic: should be a picture/).waitFor();
    await page.getByRole("textbox", { name: "Caption of photo 1" }).fill("The stud, bare and bright");
    await page.getByRole("img", { name: "The stud, bare and bright" }).waitFor();
    await page.screenshot({ path: join(screenshots, "repair-photos-phone.png"), fullPage: true });

    const folder = await exported(page);
    const job = JSON.parse(new TextDecoder().decode(folder["job.json"])) as Job;
    const after = job.rounds.find(({ round }) => round === "after")!;
    expect(after.done).toEqual(["Ground stud cleaned and tightened", "Paint scraped off under the lug"]);
    expect(after.changed).toMatchObject([{ id: "feed", awg: 8 }]);
    expect(after.checks).toEqual({ grommets: true, "clear-of-heat": false });
    expect(after.photos).toEqual([{ file: "photo-after-1.jpg", caption: "The stud, bare and bright" }]);
    const photo = folder["photo-after-1.jpg"]!;
    expect(photoFacts(photo)).toEqual({ kind: "jpeg", width: 1200, height: 1600, turn: 0 });
    expect(camera.includes(placeWords)).toBe(true);
    expect(Buffer.from(photo).includes("Quillfeather")).toBe(false);
    expect(errors).toEqual([]);
    await context.close();
    await browser.close();
    await app.stop();
  }, 180_000);
});
