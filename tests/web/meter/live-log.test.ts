/**
 * Long logging at 50 readings a second, the page's clock run forward: no value is lost, the page holds no more than
 * before, the log is on the disk as it grows. And a browser that is killed outright leaves what had come until then.
 * LIVE_HOURS=24 runs a whole day; half an hour is enough to see a value lost or a row kept.
 */
import { mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { build } from "esbuild";
import { type Browser, chromium, type Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type RealServer, startServer } from "../../fixtures/real-server.ts";
import { browserPath, launch, launchArguments } from "../app-under-test.ts";

const project = resolve(import.meta.dirname, "../../..");

const hours = Number(process.env.LIVE_HOURS ?? 0.5);

/** A meter that sends 50 lines a second of the page's clock, heard as any other, and written to a log as it grows. */
const contents = `
import { LiveMeter } from "./web/meter/live-meter.ts";
import { GrowingLog, leftBehind, textOf } from "./web/meter/live-log.ts";
import { builtInRecipes } from "./analysis/index.ts";
let sent = 0;
const stream = {
  kind: "replay", name: "lines", send: async () => {}, close: async () => {},
  async open(listener) {
    listener.state("open");
    let last = performance.now() / 1000;
    setInterval(() => {
      const now = performance.now() / 1000;
      while (last + 0.02 <= now) {
        last += 0.02;
        const text = (12 + (sent++ % 1000) / 1000).toFixed(3) + " V\\n";
        listener.bytes({ seconds: last, bytes: new TextEncoder().encode(text) });
      }
    }, 1000);
  },
};
globalThis.begin = async () => {
  const meter = new LiveMeter(stream, null);
  meter.use(builtInRecipes.find(({ id }) => id === "text-lines").recipe, "lines");
  const facts = { jobId: "j", file: "day.csv", round: "before", quantity: "volts", from: "load+", to: "load-" };
  const log = await GrowingLog.begun(facts, performance.now() / 1000);
  meter.listen(({ seconds, value }) => log.add(seconds, value));
  await meter.open();
  Object.assign(globalThis, { meter, log });
};
globalThis.sent = () => sent;
globalThis.textOfAll = async () => (await textOf(globalThis.log.facts.id)).text();
globalThis.leftBehind = async () => Promise.all((await leftBehind()).map(async ({ id }) => (await textOf(id)).text()));
globalThis.ready = true;
`;

describe.skipIf(!browserPath)("a live log", () => {
  let server: RealServer;
  beforeAll(async () => {
    const folder = mkdtempSync(join(tmpdir(), "log-page-"));
    await build({
      stdin: { contents, resolveDir: project },
      bundle: true,
      format: "esm",
      target: "es2022",
      outfile: join(folder, "page.js"),
    });
    writeFileSync(
      join(folder, "index.html"),
      '<!doctype html><title>log</title><script type="module" src="page.js"></script>',
    );
    server = await startServer({ WEB_ROOT: folder, DATA_DIR: mkdtempSync(join(tmpdir(), "log-data-")) });
  }, 60_000);
  afterAll(() => server?.end());

  const ready = (page: Page) => expect.poll(() => page.evaluate("globalThis.ready"), { timeout: 10_000 }).toBe(true);

  it("at 50 readings a second loses none, and the page holds no more as it grows", async () => {
    const browser: Browser = await launch();
    const page = await browser.newPage();
    const session = await page.context().newCDPSession(page);
    await page.clock.install();
    await page.goto(`${server.address}/`);
    await ready(page);
    await page.evaluate("begin()");
    const held: number[] = [];
    for (let sixth = 0; sixth < 6 * hours; sixth++) {
      await page.clock.runFor(600_000);
      await page.evaluate("log.flush()");
      await session.send("HeapProfiler.collectGarbage");
      held.push((await session.send("Runtime.getHeapUsage")).usedSize / 1e6);
    }
    const sent = (await page.evaluate("sent()")) as number;
    expect(sent).toBeGreaterThanOrEqual((hours * 3600 - 2) * 50);
    expect(await page.evaluate("log.written - 1")).toBe(sent);
    const wrong = await page.evaluate(`textOfAll().then((text) => {
      let [rows, wrong, last, at] = [0, 0, -1, text.indexOf("\\n") + 1];
      while (at < text.length) {
        const end = text.indexOf("\\n", at);
        const [seconds, volts] = text.slice(at, end).split(",").map(Number);
        if (volts !== Number((12 + (rows % 1000) / 1000).toFixed(3)) || !(seconds > last)) wrong++;
        last = seconds;
        rows++;
        at = end + 1;
      }
      return [rows, wrong];
    })`);
    expect(wrong).toEqual([sent, 0]);
    const [early, late] = [held[0]!, held.at(-1)!];
    console.log(
      `${sent} values, ${hours} h; megabytes held after 10 min ${early.toFixed(1)}, at the end ${late.toFixed(1)}`,
    );
    expect(late - early).toBeLessThan(8);
    await browser.close();
  }, 900_000);

  it("is on the disk when the browser is killed", async () => {
    const profile = mkdtempSync(join(tmpdir(), "profile-"));
    const options = { executablePath: browserPath!, args: launchArguments };
    const first = await chromium.launchPersistentContext(profile, options);
    const page = first.pages()[0]!;
    await page.goto(`${server.address}/`);
    await ready(page);
    await page.evaluate("begin()");
    await page.waitForTimeout(4_000);
    const sent = (await page.evaluate("sent()")) as number;
    const pid = (
      await (await first.browser()!.newBrowserCDPSession()).send("SystemInfo.getProcessInfo")
    ).processInfo.find(({ type }) => type === "browser")!.id;
    process.kill(pid, "SIGKILL");
    await first.close().catch(() => {});

    const second = await chromium.launchPersistentContext(profile, options);
    const after = second.pages()[0]!;
    await after.goto(`${server.address}/`);
    await ready(after);
    const [text] = (await after.evaluate("leftBehind()")) as string[];
    const rows = text!.trim().split("\n").slice(1);
    expect(rows.length).toBeGreaterThan(sent - 150);
    expect(rows.map((row) => Number(row.split(",")[1]))).toEqual(
      rows.map((_, place) => Number((12 + (place % 1000) / 1000).toFixed(3))),
    );
    await second.close();
  }, 60_000);
});
