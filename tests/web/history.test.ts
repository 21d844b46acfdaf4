/** A vehicle over time: three jobs of one number, the stud that goes is named before it is a fault. */
import { join } from "node:path";
import { strToU8, zipSync } from "fflate";
import { describe, expect, it } from "vitest";
import { visit } from "../fixtures/vehicle-visit.ts";
import { browserPath, launch, newcomer, resultSentence, screenshots, startApp } from "./app-under-test.ts";

describe.skipIf(!browserPath)("a vehicle over time", () => {
  it("shows its jobs side by side and the part that gets worse", async () => {
    const app = await startApp();
    const browser = await launch();
    const { page, context, errors } = await newcomer(browser, app.address, "phone");
    const visits = [visit("2026-03-01", 5.4), visit("2024-03-01", 1.1), visit("2025-03-01", 3.2)];
    visits[1]!.vehicleId = "TENDER-7";
    for (const [index, job] of visits.entries()) {
      const choosing = page.waitForEvent("filechooser");
      await page.getByRole("button", { name: "Open logs or a job folder" }).click();
      const buffer = Buffer.from(zipSync({ "job.json": strToU8(JSON.stringify(job)) }));
      await (await choosing).setFiles([{ name: `visit-${index}.zip`, mimeType: "application/zip", buffer }]);
      await resultSentence(page);
      await page.getByRole("link", { name: "all jobs" }).click();
    }
    await page.getByText("More", { exact: true }).first().click();
    await page.getByRole("link", { name: "This vehicle over time" }).first().click();
    await page.getByText("Getting worse: ground stud.").waitFor({ timeout: 30_000 });
    // two visits tell already; the third is weighed meanwhile
    const days = () => page.getByRole("region", { name: "Visits" }).getByRole("rowheader").allTextContents();
    await expect.poll(days, { timeout: 30_000 }).toEqual(["2024-03-01", "2025-03-01", "2026-03-01"]);
    await page.getByText(/^Rises 2\.\d+ mΩ ± .* a year .*from about 2027-1\d-\d\d\.$/).waitFor();
    await page.screenshot({ path: join(screenshots, "history-phone.png"), fullPage: true });
    await page.getByRole("link", { name: "Checked on 2025-03-01" }).click();
    await resultSentence(page);
    expect(errors).toEqual([]);
    await context.close();
    await browser.close();
    await app.stop();
  }, 180_000);
});
