/** The customer's record in the browser, its server gone: the same bytes as on the command line, and the job opens again from it. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { afterAll, describe, expect, it } from "vitest";
import { checkRecord, openRecord } from "../../analysis/index.ts";
import { recordVersion, report, reportRequest, sha256 } from "../../api/report.ts";
import { browserPath, launch, newcomer, openSample, resultSentence, startApp } from "./app-under-test.ts";

const work = mkdtempSync(join(tmpdir(), "record-"));

async function saved(page: Page, button: string): Promise<Buffer> {
  const coming = page.waitForEvent("download");
  await page.getByRole("button", { name: button }).click();
  return readFileSync(await (await coming).path());
}

async function give(page: Page, name: string, buffer: Buffer): Promise<void> {
  const choosing = page.waitForEvent("filechooser");
  await page.getByRole("button", { name: "Open logs or a job folder" }).click();
  await (await choosing).setFiles([{ name, mimeType: "application/pdf", buffer }]);
}

describe.skipIf(!browserPath)("the record in the browser", () => {
  afterAll(() => rmSync(work, { recursive: true, force: true }));

  it("is made and opened offline, equal to the command line's byte for byte", async () => {
    const app = await startApp();
    const browser = await launch();
    const { page, context } = await newcomer(browser, app.address);
    await page.goto(`${app.address}#/settings`);
    await page.getByText("opens without a network").waitFor();
    await page.goto(app.address);
    await openSample(page, /Feed mixer/);
    const sentence = await resultSentence(page);
    await app.stop();
    await page.getByRole("link", { name: "Record", exact: true }).click();

    const record = await saved(page, "Save the record as PDF");
    const { stamp, folder } = await openRecord(record, "record.pdf");
    expect(folder.names).toContain("before-recorder.csv");
    expect((await checkRecord(record, "record.pdf", recordVersion, sha256)).differences).toEqual([]);

    const carried = join(work, "carried.pdf");
    writeFileSync(carried, record);
    const again = join(work, "again.pdf");
    await report(reportRequest([carried, "--out", again], stamp.madeOn));
    expect(readFileSync(again).equals(record)).toBe(true);
    const html = join(work, "again.html");
    await report(reportRequest([carried, "--out", html], stamp.madeOn));
    expect((await saved(page, "Save it as a page")).equals(readFileSync(html))).toBe(true);

    await page.getByRole("link", { name: "all jobs" }).click();
    await give(page, "record.pdf", record);
    expect(await resultSentence(page)).toBe(sentence);
    await page.getByRole("link", { name: "Record", exact: true }).click();
    const second = await openRecord(await saved(page, "Save the record as PDF"), "second.pdf");
    expect(second.stamp).toEqual(stamp);

    await page.getByRole("link", { name: "all jobs" }).click();
    await give(page, "invoice.pdf", Buffer.from("%PDF-1.7\nnothing"));
    await page.getByText("invoice.pdf: should be a whole PDF; this one is cut short or damaged").waitFor();
    await context.close();
    await browser.close();
  }, 180_000);
});
