/**
 * Every screen in both themes and sizes: axe finds nothing (WCAG 2.2 A and AA), nothing sticks out sideways, also at
 * 200 % text and with reduced motion. The pictures go to screenshots/ to be looked at.
 */
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { type Browser, chromium, type Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import {
  browserPath,
  launch,
  launchArguments,
  newcomer,
  openSample,
  type RunningApp,
  type Size,
  screenshots,
  startApp,
  startMilliseconds,
} from "./app-under-test.ts";
import { sticksOut, violations } from "./hard-to-use.ts";

describe.skipIf(!browserPath)("every screen", () => {
  let app: RunningApp;
  let browser: Browser;
  beforeAll(async () => {
    mkdirSync(screenshots, { recursive: true });
    [app, browser] = await Promise.all([startApp(), launch()]);
  }, startMilliseconds);
  afterAll(async () => {
    await browser?.close();
    await app?.stop();
  });

  const looks = (["phone", "laptop"] as const).flatMap((size) =>
    (["light", "dark"] as const).map((scheme) => ({ size, scheme })),
  );
  it.each(looks)(
    "$size, $scheme: nothing for axe to find",
    async ({ size, scheme }) => {
      const { page, context, errors } = await newcomer(browser, app.address, size, {
        colorScheme: scheme,
        reducedMotion: "reduce",
      });
      await walk(page, async (screen) => {
        expect(await violations(page), screen).toEqual([]);
        expect(await sticksOut(page), screen).toEqual([]);
        await page.screenshot({
          path: join(screenshots, `${screen}-${size}-${scheme}.png`),
          fullPage: true,
          animations: "allow",
        });
      });
      expect(await page.evaluate("document.getAnimations().length")).toBe(0);
      expect(errors).toEqual([]);
      await context.close();
    },
    180_000,
  );

  it("takes the picture of a finding for the README", async () => {
    const { page, context } = await newcomer(browser, app.address, "laptop", { deviceScaleFactor: 1.5 });
    await openSample(page, /Orchard sprayer/);
    await drawn(page);
    const profile = (await page.locator(".profile").boundingBox())!;
    const verdict = (await page.locator(".verdict").boundingBox())!;
    const clip = {
      x: profile.x - 8,
      y: verdict.y - 8,
      width: profile.width + 16,
      height: profile.y + profile.height - verdict.y + 12,
    };
    const picture = await page.screenshot({ path: join(screenshots, "finding.png"), clip, fullPage: true });
    expect(picture.length).toBeGreaterThan(20_000);
    await context.close();
  });

  it.each<Size>(["phone", "laptop"])(
    "%s at 200 % text: all there, nothing cut off",
    async (size) => {
      const large = await chromium.launch({
        executablePath: browserPath!,
        args: [...launchArguments, "--blink-settings=defaultFontSize=32"],
      });
      const { page, context } = await newcomer(large, app.address, size);
      expect(await page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)")).toBeCloseTo(34, 0);
      await walk(page, async (screen) => {
        expect(await sticksOut(page), screen).toEqual([]);
        await page.screenshot({ path: join(screenshots, `${screen}-${size}-large-text.png`), fullPage: true });
      });
      await context.close();
      await large.close();
    },
    180_000,
  );
});

/** Through every screen of a sample job, each as it stands when its figures are there. */
async function walk(page: Page, visit: (screen: string) => Promise<void>): Promise<void> {
  await page.getByText("New job from a circuit").click();
  await visit("start");
  await openSample(page, /Orchard sprayer/);
  await drawn(page);
  await page.locator(".strip button").filter({ hasText: "load −" }).click();
  await page.locator(".strip button").filter({ hasText: "battery −" }).click();
  await visit("result");
  await page.getByRole("link", { name: "Circuit" }).click();
  await page.locator(".loop-editor summary:has(b)").filter({ hasText: "main fuse" }).click();
  await drawn(page);
  await visit("circuit");
  await page.getByRole("link", { name: "Measure" }).click();
  await page.locator(".placed summary").first().click();
  await page
    .getByText(/values from/)
    .first()
    .waitFor();
  await visit("measure");
  await page.getByRole("link", { name: "Type another reading" }).click();
  await page.getByRole("textbox", { name: "Reading" }).waitFor();
  await visit("type");
  await page.getByRole("link", { name: "Traces" }).click();
  await page
    .getByRole("img", { name: /^Trace/ })
    .first()
    .waitFor();
  await drawn(page);
  await visit("traces");
  await page.getByRole("link", { name: "Settings" }).click();
  await page.getByRole("heading", { name: "Storage" }).waitFor();
  await visit("settings");
  await page.getByRole("link", { name: "all jobs" }).click();
  await openSample(page, /Feed mixer/);
  await drawn(page);
  await visit("before-and-after");
  await page.getByRole("link", { name: "Repair", exact: true }).click();
  await page.getByText("The repair held.").waitFor();
  await visit("repair");
  await page.getByRole("link", { name: "Record", exact: true }).click();
  await page.locator(".record-paper[data-ready=true]").waitFor({ timeout: 30_000 });
  await page.getByText("Technician signs").click();
  await page.getByText("The shop’s key: none yet").click();
  await visit("record");
  await page.getByRole("link", { name: "Circuit", exact: true }).click();
  await page.getByText("Vehicle, customer, notes").click();
  await page.getByLabel("Its number or mark").fill("mixer 3");
  await page.getByRole("link", { name: "Record", exact: true }).click();
  await page.getByRole("link", { name: "All jobs of mixer 3 over time" }).click();
  await page.getByRole("heading", { name: "Ohms of each part" }).waitFor({ timeout: 30_000 });
  await visit("history");
}

/** Charts are drawn when their code has come and the frame after has passed. */
async function drawn(page: Page): Promise<void> {
  await page.locator("canvas").first().waitFor();
  await page.waitForTimeout(350);
}
