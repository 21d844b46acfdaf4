/**
 * Measuring live in a real Chromium, over every link: a meter that nobody knows is connected, taught, proven, and measures
 * a job to its verdict, with its link lost in the middle and the page reloaded. The meter and the vehicle are invented.
 */
import { mkdirSync } from "node:fs";
import type { Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { InventedMeter } from "../../fixtures/ports/invented-meter.ts";
import { newcomer, type RunningApp, screenshots, startApp, startMilliseconds } from "../app-under-test.ts";
import { type Link, possibleLinks } from "./links.ts";
import { keptJob } from "./simulated-vehicle.ts";
import { clipOn, newJob, takeOne, teach, vehicleOf } from "./technician.ts";

let app: RunningApp;
beforeAll(async () => {
  mkdirSync(screenshots, { recursive: true });
  if (possibleLinks.length > 0) app = await startApp();
}, startMilliseconds);
afterAll(() => app?.stop());

describe.each(possibleLinks)("measuring live over $name", (kind) => {
  const picture = (moment: string) => `${screenshots}/live-${moment}-${kind.name.replaceAll(/\W+/g, "-")}.png`;
  let link: Link;
  let page: Page;
  let meter: InventedMeter;
  let errors: string[];

  beforeEach(async () => {
    const address = app.address.replace("127.0.0.1", "localhost");
    link = await kind.open(address);
    ({ page, errors } = await newcomer(link.browser, address, "phone"));
    page.context().setDefaultTimeout(30_000);
    await page.addInitScript(link.shim);
    await page.reload();
    await link.ready(page);
    meter = new InventedMeter((bytes) => link.push(bytes));
  });
  afterEach(async () => {
    meter.stop();
    await page.screenshot({ path: picture("last"), fullPage: true });
    await link.end();
  });

  it("teaches a meter, measures to the verdict, and loses nothing to a lost link or a reload", async () => {
    await newJob(page);
    const loop = await vehicleOf(page);
    await link.connect(page);
    meter.start();
    await teach(page, meter, picture("teach"));
    await page.getByRole("region", { name: "bench meter" }).waitFor();
    await takeOne(page, await clipOn(page, meter, loop));
    await page.screenshot({ path: picture("taken"), fullPage: true });

    // the link is lost while the second is being taken
    const set = await clipOn(page, meter, loop);
    await link.lose();
    await page.getByText(/Link lost; it is being sought/).waitFor();
    await link.find();
    await page.getByText("Connected", { exact: true }).waitFor();
    await takeOne(page, set);
    await expect.poll(() => keptJob<number>(page, "([job]) => job.document.readings.length")).toBe(2);

    // the page is killed while the third is being taken
    await clipOn(page, meter, loop);
    await page.waitForTimeout(2_500);
    await page.reload();
    await page.getByText(/A live log was being taken when the page was closed/).waitFor();
    expect(await keptJob(page, "([job]) => job.document.recordings.length")).toBe(3);
    await page.getByRole("button", { name: "Understood" }).click();
    await link.reloaded();
    await link.connect(page);
    await page.getByRole("button", { name: "Yes, read it so" }).click();

    for (let more = 0; more < 6; more++) {
      const enough = page.getByText("No further reading would change the answer");
      await enough
        .or(page.getByRole("button", { name: "The clips are on" }))
        .first()
        .waitFor();
      if (await enough.isVisible()) break;
      await takeOne(page, await clipOn(page, meter, loop));
    }
    await page.getByRole("link", { name: "See the result" }).first().click();
    const verdict = page.getByRole("status", { name: "Result in a sentence" });
    await expect.poll(() => verdict.textContent(), { timeout: 15_000 }).toMatch(/Fault.*ground.stud/s);
    expect(errors).toEqual([]);
  }, 300_000);
});
