/**
 * Every live screen in both themes and sizes, with a recording in the meter's place: axe finds nothing (WCAG 2.2 A and
 * AA), nothing sticks out sideways. What a browser without Bluetooth and serial ports is told, what works instead.
 */
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import {
  browserPath,
  launch,
  newcomer,
  type RunningApp,
  screenshots,
  startApp,
  startMilliseconds,
} from "../app-under-test.ts";
import { sticksOut, violations } from "../hard-to-use.ts";
import { keptJob } from "./simulated-vehicle.ts";
import { newJob, playRecording } from "./technician.ts";

/** The recording may be keyed just when the clips go on: then the next keying is the one. */
const oneRound = { timeout: 25_000 };

/** A drawn recording: volts at the set, keyed for five seconds every ten, five lines a second, a loss of the link at 40 s. */
function recording(): string {
  const bytes = Array.from({ length: 3_000 }, (_, i) => {
    const volts = (Math.floor(i / 25) % 2 === 1 ? 11.62 : 12.41) + (i % 3) / 1000;
    return { seconds: i / 5, base64: Buffer.from(`${volts.toFixed(3)} V\r\n`).toString("base64") };
  });
  const states = [
    { seconds: 40, state: "lost" },
    { seconds: 42, state: "open" },
  ];
  const file = join(tmpdir(), `set-keyed-${process.pid}.json`);
  writeFileSync(file, JSON.stringify({ format: "bytes/1", bytes, states }));
  return file;
}

describe.skipIf(!browserPath)("live screens", () => {
  let app: RunningApp;
  let browser: Browser;
  const played = recording();
  beforeAll(async () => {
    mkdirSync(screenshots, { recursive: true });
    [app, browser] = await Promise.all([startApp(), launch()]);
  }, startMilliseconds);
  afterAll(async () => {
    await browser?.close();
    await app?.stop();
  });

  async function toLive(page: Page): Promise<void> {
    await newJob(page);
    await page.getByRole("heading", { name: "Connect a meter" }).waitFor();
  }

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
      const look = async (screen: string) => {
        expect(await violations(page), screen).toEqual([]);
        expect(await sticksOut(page), screen).toEqual([]);
        await page.screenshot({ path: join(screenshots, `${screen}-${size}-${scheme}.png`), fullPage: true });
      };
      await toLive(page);
      await look("live-connect");
      await playRecording(page, played);
      await page.getByRole("button", { name: "Yes, read it so" }).waitFor();
      await look("live-speaks");
      await page.getByRole("button", { name: /Teach it/ }).click();
      await look("live-teach");
      await page.getByRole("button", { name: "Back without it" }).click();
      await page.getByRole("button", { name: "Yes, read it so" }).click();
      await look("live-ready");
      await page.getByRole("button", { name: "The clips are on" }).click();
      await page.locator(".countdown, .taken").first().waitFor(oneRound);
      await look("live-keyed");
      await page.getByText(/^Taken\./).waitFor(oneRound);
      await page.getByRole("button", { name: "The clips are on" }).waitFor();
      await look("live-taken");
      expect(errors).toEqual([]);
      await context.close();
    },
    120_000,
  );

  it("keeps what was taken, and the log with it; a reading that is refused is gone, its log is kept", async () => {
    const { page, context } = await newcomer(browser, app.address, "phone");
    await toLive(page);
    await playRecording(page, played);
    await page.getByRole("button", { name: "Yes, read it so" }).click();
    await page.getByRole("button", { name: "The clips are on" }).click();
    await page.getByText(/^Taken\./).waitFor(oneRound);
    const readings = () => keptJob<{ volts: number; log: string }[]>(page, "([job]) => job.document.readings");
    await expect.poll(async () => (await readings()).length, { timeout: 10_000 }).toBe(1);
    expect((await readings())[0]).toMatchObject({ volts: 11.621, radio: "transmit", engine: "off", from: "load+" });
    await page.getByRole("button", { name: "Not that one: again" }).click();
    await expect.poll(async () => (await readings()).length, { timeout: 10_000 }).toBe(0);
    await page.getByText("Key the set for five seconds.").waitFor(oneRound);
    await page.getByText(/^Taken\./).waitFor(oneRound);
    await page.getByRole("link", { name: "Done" }).click();
    const kept = () =>
      keptJob<[string[], string[]]>(
        page,
        "([job]) => [Object.keys(job.files), job.document.recordings.map(({ file }) => file)]",
      );
    await expect.poll(async () => (await kept())[0].length, { timeout: 15_000 }).toBe(2);
    const [files, placed] = await kept();
    expect(placed).toHaveLength(1);
    expect(files).toContain(placed[0]);
    expect((await readings())[0]!.log).toBe(placed[0]);
    await context.close();
  }, 90_000);

  it("follows the level with a tone, marks the moment, and keeps the meter's bytes where that is wanted", async () => {
    const { page, context, errors } = await newcomer(browser, app.address, "phone");
    await toLive(page);
    await playRecording(page, played);
    await page.getByRole("button", { name: "Yes, read it so" }).click();
    await page.getByText("Sound, vibration, voice").click();
    await page.getByRole("checkbox", { name: /bytes/ }).check();
    await page.getByText("A tone follows the level").click();
    await page.getByRole("button", { name: "Start the tone and the log" }).click();
    await page.getByLabel("What is being wiggled").fill("fuse holder");
    await page.waitForTimeout(2_000);
    await page.getByRole("button", { name: "Mark this moment" }).click();
    await page.getByText("1 marked.").waitFor();
    await page.getByRole("button", { name: "Stop, keep the log" }).click();
    const kept = () =>
      keptJob<[string[], { marks?: { seconds: number; label: string }[] }[]]>(
        page,
        "([job]) => [Object.keys(job.files), job.document.recordings]",
      );
    await expect.poll(async () => (await kept())[1].length, { timeout: 15_000 }).toBe(1);
    const [files, [recording]] = await kept();
    expect(recording!.marks).toMatchObject([{ label: "fuse holder" }]);
    expect(recording!.marks![0]!.seconds).toBeGreaterThan(1);
    expect(files.filter((file) => file.endsWith(".bytes.json"))).toHaveLength(1);
    await page.getByRole("link", { name: "Done" }).click();
    await expect.poll(() => page.getByRole("article").count(), { timeout: 10_000 }).toBe(1);
    expect(errors).toEqual([]);
    await context.close();
  }, 60_000);

  it("tells a helper's phone to key and to release", async () => {
    const { page, context } = await newcomer(browser, app.address, "laptop", { follows: true });
    await toLive(page);
    await playRecording(page, played);
    await page.getByRole("button", { name: "Yes, read it so" }).click();
    await page.getByText("A helper keys the set").click();
    await page.getByRole("button", { name: /Show the code/ }).click();
    const address = /http\S+/.exec((await page.getByText(/Or open there/).textContent())!)![0];
    const helper = await newcomer(browser, address, "phone");
    await helper.page.getByRole("heading", { name: "WAIT" }).waitFor();
    await page.getByRole("button", { name: "The clips are on" }).click();
    await helper.page.getByRole("heading", { name: "KEY" }).waitFor(oneRound);
    expect(await violations(helper.page)).toEqual([]);
    expect(await sticksOut(helper.page)).toEqual([]);
    await helper.page.screenshot({ path: join(screenshots, "live-helper-phone.png") });
    await helper.page.getByRole("heading", { name: "RELEASE" }).waitFor(oneRound);
    expect(helper.errors).toEqual([]);
    await helper.context.close();
    await context.close();
  }, 60_000);

  it("passes a recipe on as a file, and takes it over", async () => {
    const { page, context } = await newcomer(browser, app.address, "laptop");
    await toLive(page);
    await playRecording(page, played);
    await page.getByRole("button", { name: "Yes, read it so" }).click();
    await page.getByRole("button", { name: "How it speaks" }).click();
    await page.getByText("Pass it on to the shop").click();
    await page.getByRole("button", { name: "Show it as a QR code" }).click();
    await page.getByRole("img", { name: /Code with the recipe/ }).waitFor();
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      page.getByRole("button", { name: "Save the recipe as a file" }).click(),
    ]);
    const file = (await download.path())!;
    expect(JSON.parse(readFileSync(file, "utf8"))).toMatchObject({ format: "recipe/1", label: expect.any(String) });
    await page.getByText("Choose, or take over from somebody").click();
    const [picker] = await Promise.all([
      page.waitForEvent("filechooser"),
      page.getByRole("button", { name: "Open a recipe file" }).click(),
    ]);
    await picker.setFiles({
      name: "broken.json",
      mimeType: "application/json",
      buffer: Buffer.from('{"format":"recipe/9"}'),
    });
    await page.getByText(/recipe\/9/).waitFor();
    const [again] = await Promise.all([
      page.waitForEvent("filechooser"),
      page.getByRole("button", { name: "Open a recipe file" }).click(),
    ]);
    await again.setFiles(file);
    await page.getByRole("button", { name: "The clips are on" }).waitFor();
    await context.close();
  }, 60_000);

  it("says plainly what a browser lacks, and what works instead", async () => {
    const { page, context } = await newcomer(browser, app.address, "phone");
    await page.addInitScript('Object.defineProperty(Navigator.prototype, "serial", { value: undefined })');
    await page.reload();
    await toLive(page);
    await page.getByText(/This browser has no Bluetooth for pages.*typing the number/).waitFor();
    await page.getByRole("radio", { name: "Cable", exact: true }).check();
    await page.getByText(/no serial ports for pages.*server.s machine can be read/).waitFor();
    await page.getByRole("radio", { name: "Server’s cable", exact: true }).check();
    await page.getByLabel("Port", { exact: true }).fill("/dev/ttyNOTHERE9");
    await page.getByRole("button", { name: "Read this port" }).click();
    await page.getByText("/dev/ttyNOTHERE9 is not there: plug the cable in, or choose another port.").waitFor();
    await context.close();
  }, 60_000);
});
