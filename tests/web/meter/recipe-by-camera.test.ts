/**
 * A recipe taught at the bench goes to another phone by its camera: the code that one page shows is what the other's
 * camera sees (Chromium's made-up camera plays a film of it), and the other reads its meter with it.
 */
import { writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { type Browser, chromium, type Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import {
  browserPath,
  launch,
  launchArguments,
  newcomer,
  type RunningApp,
  startApp,
  startMilliseconds,
} from "../app-under-test.ts";
import { newJob, playRecording } from "./technician.ts";

const [width, height] = [1280, 720];

/** The code's dark squares, as the page draws them: 'M3 4h1v1h-1z' for one in column 3, row 4. */
function film(path: string, across: number): string {
  const scale = Math.floor(height / (across + 8));
  const grey = new Uint8Array(width * height).fill(235);
  for (const [, column, row] of path.matchAll(/M(\d+) (\d+)/g)) {
    for (let y = 0; y < scale; y++) {
      const start = (Number(row) * scale + 4 * scale + y) * width + 300 + Number(column) * scale;
      grey.fill(16, start, start + scale);
    }
  }
  const colour = new Uint8Array((width * height) / 2).fill(128);
  const frame = Buffer.concat([Buffer.from("FRAME\n"), grey, colour]);
  const head = Buffer.from(`YUV4MPEG2 W${width} H${height} F10:1 Ip A1:1 C420\n`);
  const file = join(tmpdir(), `code-${process.pid}.y4m`);
  writeFileSync(file, Buffer.concat([head, frame, frame, frame]));
  return file;
}

/** Two lines a second of a meter that sends text. */
const recording = () => ({
  name: "lines.json",
  mimeType: "application/json",
  buffer: Buffer.from(
    JSON.stringify({
      format: "bytes/1",
      bytes: Array.from({ length: 400 }, (_, i) => ({
        seconds: i / 2,
        base64: Buffer.from(`12.41${i % 3} V\r\n`).toString("base64"),
      })),
    }),
  ),
});

async function play(page: Page): Promise<void> {
  await newJob(page);
  await playRecording(page, recording());
}

describe.skipIf(!browserPath)("a recipe by camera", () => {
  let app: RunningApp;
  const browsers: Browser[] = [];
  beforeAll(async () => {
    app = await startApp();
  }, startMilliseconds);
  afterAll(async () => {
    for (const browser of browsers) await browser.close();
    await app?.stop();
  });

  it("is read from the other's screen", async () => {
    const bench = await launch();
    browsers.push(bench);
    const { page } = await newcomer(bench, app.address, "laptop");
    await play(page);
    await page.getByRole("button", { name: "Yes, read it so" }).click();
    await page.getByRole("button", { name: "How it speaks" }).click();
    await page.getByText("Pass it on to the shop").click();
    await page.getByRole("button", { name: "Show it as a QR code" }).click();
    const code = page.getByRole("img", { name: /Code with the recipe/ });
    const across = Number((await code.getAttribute("viewBox"))!.split(" ")[2]) - 8;
    const path = (await code.locator("path").getAttribute("d"))!;

    const camera = [
      "--use-fake-device-for-media-stream",
      "--use-fake-ui-for-media-stream",
      `--use-file-for-fake-video-capture=${film(path, across)}`,
    ];
    const van = await chromium.launch({ executablePath: browserPath!, args: [...launchArguments, ...camera] });
    browsers.push(van);
    const other = await newcomer(van, app.address, "phone");
    await play(other.page);
    await other.page.getByText("Choose, or take over from somebody").click();
    await other.page.getByRole("button", { name: "Read a QR code" }).click();
    await other.page.getByRole("button", { name: "The clips are on" }).waitFor({ timeout: 30_000 });
    await expect
      .poll(() => other.page.getByRole("region", { name: /Lines of text/ }).textContent())
      .toMatch(/12\.41\d\s*V/);
    expect(other.errors).toEqual([]);
  }, 90_000);

  it("says what to do where there is no camera", async () => {
    const browser = await launch();
    browsers.push(browser);
    const { page, errors } = await newcomer(browser, app.address, "phone");
    await play(page);
    await page.getByText("Choose, or take over from somebody").click();
    await page.getByRole("button", { name: "Read a QR code" }).click();
    await page.getByText(/The camera is not to be had: .*open the recipe as a file/).waitFor();
    expect(errors).toEqual([]);
  }, 60_000);
});
