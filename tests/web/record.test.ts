/** The customer's record in the browser, its server gone: the same bytes as on the command line, and the job opens again from it. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { unzipSync } from "fflate";
import type { Page } from "playwright-core";
import { afterAll, describe, expect, it } from "vitest";
import { checkRecord, openRecord } from "../../analysis/index.ts";
import { recordVersion, report, reportRequest, sha256 } from "../../api/report.ts";
import { fits } from "../../api/shop-key.ts";
import { browserPath, launch, newcomer, openSample, resultSentence, screenshots, startApp } from "./app-under-test.ts";

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

/** A file as it is, and everything that is packed in it. */
async function allBytesOf(file: Buffer): Promise<string> {
  const carried = file.subarray(0, 5).toString() === "%PDF-" ? (await openRecord(file, "shared.pdf")).folder : null;
  const zip = file.subarray(0, 2).toString() === "PK" ? unzipSync(file) : {};
  const inside = carried ? carried.names.map((name) => Buffer.concat([...carried.read(name)!])) : Object.values(zip);
  const names = [...(carried?.names ?? []), ...Object.keys(zip)];
  expect(names.length + (file.toString().includes("<html") ? 1 : 0)).toBeGreaterThan(0);
  return Buffer.concat([file, ...inside, Buffer.from(names.join("\n"))]).toString("latin1");
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
    expect((await checkRecord(record, "record.pdf", recordVersion, { sha256, fits })).differences).toEqual([]);

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

  it("is seen and printed as it will be, signed with the key and on the glass, and shared without the customer", async () => {
    const app = await startApp();
    const browser = await launch();
    const { page, context, errors } = await newcomer(browser, app.address);
    await openSample(page, /Feed mixer/);
    await resultSentence(page);
    await page.getByRole("link", { name: "Circuit", exact: true }).click();
    await page.getByText("Vehicle, customer, notes").click();
    await page.getByLabel("Customer").fill("Zebedee Quillfeather, Hollowmere");
    await page.getByLabel("Technician").fill("R. Tern");
    await page.getByRole("link", { name: "Record", exact: true }).click();
    await page.getByText("The shop’s key: none yet").click();
    await page.getByRole("button", { name: "Make a key" }).click();
    await page.getByText("Public key:").waitFor();

    await page.getByText("Customer signs").click();
    const glass = (await page.getByRole("img", { name: "Customer, sign here" }).boundingBox())!;
    await page.mouse.move(glass.x + 40, glass.y + 90);
    await page.mouse.down();
    for (let step = 1; step <= 20; step++)
      await page.mouse.move(glass.x + 40 + 12 * step, glass.y + 90 - 40 * Math.sin(step));
    await page.mouse.up();
    await page.getByRole("button", { name: "Keep the signature" }).click();
    const paper = page.locator(".record-paper");
    await paper.getByText(/^Customer, Zebedee Quillfeather.*: signed what stands here$/).waitFor({ timeout: 30_000 });
    await paper.getByRole("img", { name: "Code with the key of the shop" }).waitFor();

    await page.emulateMedia({ media: "print" });
    expect(await page.getByRole("button", { name: "Print it" }).isVisible()).toBe(false);
    expect(await paper.getByText("What was wrong").isVisible()).toBe(true);
    writeFileSync(join(screenshots, "record-printed.pdf"), await page.pdf({ preferCSSPageSize: true }));
    await page.emulateMedia({ media: "screen" });

    const means = { sha256, fits };
    const record = await saved(page, "Save the record as PDF");
    const check = await checkRecord(record, "record.pdf", recordVersion, means);
    expect(check).toMatchObject({ differences: [], signature: { fits: true } });
    const forged = Buffer.from(record);
    forged[forged.length >> 1]! ^= 1;
    expect(
      await checkRecord(forged, "record.pdf", recordVersion, means).catch((error: Error) => error.message),
    ).not.toMatchObject({
      follows: true,
    });
    await page.getByText("Check a record").click();
    const choosing = page.waitForEvent("filechooser");
    await page.getByRole("button", { name: "Open a record" }).click();
    await (await choosing).setFiles([{ name: "record.pdf", mimeType: "application/pdf", buffer: record }]);
    await page.getByText("Signed with this shop’s key.").waitFor({ timeout: 30_000 });

    await page.getByRole("radio", { name: "Left out" }).check();
    await paper.getByText("Customer: Zebedee").waitFor({ state: "detached", timeout: 30_000 });
    for (const button of ["Save the record as PDF", "Save it as a page", "Save the job folder"]) {
      const shared = await saved(page, button);
      expect(await allBytesOf(shared)).not.toMatch(/quillfeather|hollowmere/i);
    }
    expect(errors).toEqual([]);
    await context.close();
    await browser.close();
    await app.stop();
  }, 180_000);
});
