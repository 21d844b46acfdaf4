/**
 * Figures of the web app in a real browser, printed one a line with what was asked of each: `npm run bench:web`.
 * The machine and its load decide: the date and the number of cores are printed beside them.
 */
import { createWriteStream, mkdtempSync, rmSync } from "node:fs";
import { availableParallelism, tmpdir } from "node:os";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import type { Browser, Page } from "playwright-core";
import { launch, newcomer, openSample, type RunningApp, startApp } from "../web/app-under-test.ts";

const work = mkdtempSync(join(tmpdir(), "bench-web-"));
const bigRows = Number(process.env.ROWS ?? 10_000_000);

function line(what: string, figure: string, asked: string): void {
  console.log(`${what.padEnd(62)} ${figure.padStart(12)}   asked: ${asked}`);
}

async function firstLoad(browser: Browser, app: RunningApp): Promise<void> {
  const context = await browser.newContext({ serviceWorkers: "block" });
  const page = await context.newPage();
  const scripts: Promise<Buffer>[] = [];
  page.on("response", (response) => {
    if (response.request().resourceType() === "script") scripts.push(response.body());
  });
  await page.goto(app.address, { waitUntil: "networkidle" });
  const bytes = (await Promise.all(scripts)).reduce((sum, script) => sum + gzipSync(script).length, 0);
  line("script of the first screen, gzip", `${(bytes / 1024).toFixed(1)} KiB`, "at most 180 KiB");
  await context.close();
}

/** From the input event to the last stroke drawn on the canvas for it. */
async function keystrokes(browser: Browser, app: RunningApp): Promise<void> {
  const { page, context } = await newcomer(browser, app.address);
  await page.addInitScript(`
    const stroke = CanvasRenderingContext2D.prototype.stroke;
    CanvasRenderingContext2D.prototype.stroke = function (...given) { globalThis.lastStroke = performance.now(); return stroke.apply(this, given); };`);
  await page.goto(app.address);
  await page.getByText("New job from a circuit").click();
  await page.getByRole("button", { name: /Boat with bus bars/ }).click();
  await page.locator("canvas").first().waitFor();
  await page.waitForTimeout(500);
  const times = (await page.getByLabel("Draws keyed").evaluate(typeAndTime, 120)) as number[];
  line("keystroke to updated staircase, p95 of 120", `${percentile(times, 0.95).toFixed(1)} ms`, "at most 50 ms");
  await context.close();
}

/** Runs in the page. */
const typeAndTime = new Function(
  "field",
  "count",
  `return (async () => {
    const set = Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, "value").set;
    const times = [];
    for (let index = 0; index < count; index++) {
      const start = performance.now();
      set.call(field, String(5 + (index % 40) / 4));
      field.dispatchEvent(new Event("input", { bubbles: true }));
      await new Promise((done) => setTimeout(done, 120));
      if (globalThis.lastStroke > start) times.push(globalThis.lastStroke - start);
    }
    return times;
  })()`,
) as never;

/** From the start of the progress bar to its end, logs read before. */
async function diagnoses(browser: Browser, app: RunningApp): Promise<void> {
  const { page, context } = await newcomer(browser, app.address);
  await page.addInitScript(`
    globalThis.spans = [];
    let start = null;
    new MutationObserver(() => {
      const busy = document.querySelector(".progress progress") !== null;
      if (busy && start === null) start = performance.now();
      if (!busy && start !== null) { globalThis.spans.push(performance.now() - start); start = null; }
    }).observe(document, { childList: true, subtree: true });`);
  await page.goto(app.address);
  for (const title of [/Orchard sprayer/, /Milk tanker/, /Beach tractor/]) {
    await page.goto(app.address);
    await openSample(page, title);
    await page.getByRole("progressbar").waitFor({ state: "detached" });
    await page.evaluate("globalThis.spans.length = 0");
    for (let turn = 0; turn < 7; turn++) await diagnoseAgain(page);
    const spans = (await page.evaluate("globalThis.spans")) as number[];
    line(
      `diagnosis in the worker, ${title.source}, p50 of ${spans.length}`,
      `${percentile(spans, 0.5).toFixed(0)} ms`,
      "at most 300 ms for a typical job",
    );
  }
  await context.close();
}

/** A change to the job, made where the result stays on the screen: the page is asked to weigh it again. */
async function diagnoseAgain(page: Page): Promise<void> {
  const before = (await page.evaluate("globalThis.spans.length")) as number;
  const hash = await page.evaluate("location.hash");
  await page.evaluate(`location.hash = ${JSON.stringify(String(hash).replace("/find", "/describe"))}`);
  const title = page.getByLabel("Job", { exact: true });
  await title.fill(`${await title.inputValue()}.`);
  await page.evaluate(`location.hash = ${JSON.stringify(hash)}`);
  while (((await page.evaluate("globalThis.spans.length")) as number) <= before) await page.waitForTimeout(20);
}

async function bigLog(browser: Browser, app: RunningApp): Promise<void> {
  const path = join(work, "load.csv");
  await writeBigLog(path);
  const { page, context } = await newcomer(browser, app.address);
  await page.evaluate(`
    globalThis.tasks = [];
    new PerformanceObserver((list) => globalThis.tasks.push(...list.getEntries().map(({ duration }) => duration))).observe({ type: "longtask" });`);
  const start = performance.now();
  const choosing = page.waitForEvent("filechooser");
  await page.getByRole("button", { name: "Open logs or a job folder" }).click();
  await (await choosing).setFiles(path);
  await page.getByText(/values from/).waitFor({ timeout: 180_000 });
  const seconds = (performance.now() - start) / 1000;
  line(`${bigRows} rows kept and read`, `${seconds.toFixed(1)} s`, "(no figure asked)");
  const longest = Math.max(0, ...((await page.evaluate("globalThis.tasks")) as number[]));
  line("longest task of the page meanwhile", `${longest.toFixed(0)} ms`, "none above 100 ms");
  await page.getByRole("button", { name: /Take it/ }).click();
  await page.getByRole("link", { name: "Traces" }).click();
  await page.getByRole("img", { name: /^Trace/ }).waitFor({ timeout: 180_000 });
  await page.waitForTimeout(3000);
  await zooming(page);
  await context.close();
}

async function zooming(page: Page): Promise<void> {
  const box = (await page.getByRole("img", { name: /^Trace/ }).boundingBox())!;
  await page.mouse.move(box.x + box.width * 0.6, box.y + box.height / 2);
  await page.evaluate(`globalThis.frames = []; globalThis.counting = true;
    (function next(now) { globalThis.frames.push(now); if (globalThis.counting) requestAnimationFrame(next); })(performance.now());`);
  const until = performance.now() + 4000;
  for (let turn = 0; performance.now() < until; turn++) {
    await page.mouse.wheel(0, turn % 80 < 40 ? -40 : 40);
    await page.waitForTimeout(12);
  }
  const frames = (await page.evaluate("globalThis.counting = false, globalThis.frames")) as number[];
  const gaps = frames.slice(1).map((now, index) => now - frames[index]!);
  const rate = (1000 * gaps.length) / gaps.reduce((sum, gap) => sum + gap, 0);
  line(`zooming ${bigRows} samples for 4 s, frames a second`, rate.toFixed(1), "at least 50");
  line("  longest gap between two frames", `${Math.max(...gaps).toFixed(0)} ms`, "(no figure asked)");
}

/** A keyed feed logged at a kilohertz: 12.6 V, keyed 5 s of every 20, noise from a small generator with a seed. */
async function writeBigLog(path: string): Promise<void> {
  const file = createWriteStream(path);
  let seed = 12345;
  let text = "seconds,volts\n";
  for (let row = 0; row < bigRows; row++) {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
    const seconds = row / 1000;
    const volts = (seconds % 20 < 5 ? 11.8 : 12.6) + (seed / 2 ** 32 - 0.5) * 0.02;
    text += `${seconds.toFixed(3)},${volts.toFixed(3)}\n`;
    if (text.length > 1 << 20) {
      if (!file.write(text)) await new Promise<void>((drained) => file.once("drain", () => drained()));
      text = "";
    }
  }
  await new Promise<void>((done) => file.end(text, () => done()));
}

function percentile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? Number.NaN;
}

const app = await startApp();
const browser = await launch();
try {
  console.log(
    `web app, ${new Date().toISOString().slice(0, 10)}, ${availableParallelism()} cores, Chromium ${browser.version()}`,
  );
  await firstLoad(browser, app);
  await keystrokes(browser, app);
  await diagnoses(browser, app);
  await bigLog(browser, app);
} finally {
  await browser.close();
  await app.stop();
  rmSync(work, { recursive: true, force: true });
}
