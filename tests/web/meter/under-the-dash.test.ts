/**
 * What happens around a live reading: two meters at once, what is heard and felt, a meter that falls asleep, a page out of
 * sight. Meters are real serial lines read by the server, what they show is invented.
 */
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import type { Browser, BrowserContext, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { PseudoTerminal, socatPath } from "../../fixtures/ports/pseudo-terminal.ts";
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
import { readServerPort } from "./links.ts";
import { keptJob } from "./simulated-vehicle.ts";
import { newJob } from "./technician.ts";

/** A meter that sends lines of text without being asked. */
class LineMeter {
  volts = 12.41;
  private awake = true;
  private flicker = 0;
  private readonly timer: ReturnType<typeof setInterval>;

  private constructor(readonly terminal: PseudoTerminal) {
    this.timer = setInterval(() => {
      const shown = this.volts + (this.flicker++ % 3) / 1000;
      if (this.awake) terminal.write(Buffer.from(`${shown.toFixed(3)} V\r\n`));
    }, 150);
  }

  static async plugged(): Promise<LineMeter> {
    return new LineMeter(await PseudoTerminal.plugged());
  }

  sleep(asleep: boolean): void {
    this.awake = !asleep;
  }

  async end(): Promise<void> {
    clearInterval(this.timer);
    await this.terminal.end();
  }
}

/** To run before the page's own code: what it lets be heard, felt and spoken is written down as well. */
const feelingShim = `(() => {
  globalThis.felt = [];
  const note = (owner, name, words) => {
    const own = owner?.[name];
    if (own) owner[name] = function (...args) { felt.push(words(...args)); return own.apply(this, args); };
  };
  note(OscillatorNode.prototype, "start", () => "tone");
  note(Navigator.prototype, "vibrate", () => "shake");
  note(globalThis.speechSynthesis && SpeechSynthesis.prototype, "speak", (spoken) => spoken.text);
})()`;

describe.skipIf(!browserPath || !socatPath)("under the dash", () => {
  let app: RunningApp;
  let browser: Browser;
  let context: BrowserContext;
  let page: Page;
  let errors: string[];
  const meters: LineMeter[] = [];

  beforeAll(async () => {
    mkdirSync(screenshots, { recursive: true });
    [app, browser] = await Promise.all([startApp(), launch()]);
  }, startMilliseconds);
  afterAll(async () => {
    await browser?.close();
    await app?.stop();
  });
  beforeEach(async () => {
    ({ page, context, errors } = await newcomer(browser, app.address, "phone"));
    context.setDefaultTimeout(30_000);
    await page.addInitScript(feelingShim);
    await page.reload();
    await newJob(page);
  });
  afterEach(async () => {
    await context.close();
    for (const meter of meters.splice(0)) await meter.end();
  });

  async function connect(): Promise<LineMeter> {
    const meter = await LineMeter.plugged();
    meters.push(meter);
    await readServerPort(page, meter.terminal);
    await page.getByRole("button", { name: "Yes, read it so" }).click();
    return meter;
  }
  const picture = (moment: string) =>
    page.screenshot({ path: join(screenshots, `${moment}-phone.png`), fullPage: true });

  const waitForKey = () => page.getByText("Key the set for five seconds.").waitFor();
  const taken = () => page.getByText(/^Taken\./).waitFor();

  it("hears two meters at once, and takes both when the set is keyed", async () => {
    const load = await connect();
    await page.getByRole("button", { name: "Connect a second meter" }).click();
    const battery = await connect();
    battery.volts = 12.62;
    await page.getByRole("region", { name: /\(2\)$/ }).waitFor();
    await picture("live-two");
    expect(await violations(page)).toEqual([]);
    expect(await sticksOut(page)).toEqual([]);
    await page.getByRole("button", { name: "The clips are on" }).click();
    await waitForKey();
    [load.volts, battery.volts] = [11.32, 12.21];
    await taken();
    await picture("live-two-taken");
    const readings = () =>
      keptJob<{ from: string; volts: number; takenAt: string; log: string }[]>(
        page,
        "([job]) => job.document.readings",
      );
    await expect.poll(async () => (await readings()).length).toBe(2);
    const [first, second] = await readings();
    expect([first!.from, second!.from]).toEqual(["load+", "battery+"]);
    expect(Math.abs(first!.volts - 11.321)).toBeLessThan(0.0015);
    expect(Math.abs(second!.volts - 12.211)).toBeLessThan(0.0015);
    expect(first!.takenAt).toBe(second!.takenAt);
    // both logs are kept, on one clock
    await page.getByRole("link", { name: "Done" }).click();
    const recordings = () =>
      keptJob<{ file: string; from: string }[]>(
        page,
        "([job]) => job.document.recordings.map(({ file, from }) => ({ file, from }))",
      );
    await expect
      .poll(async () => (await recordings()).map(({ from }) => from).sort(), { timeout: 15_000 })
      .toEqual(["battery+", "load+"]);
    expect(errors).toEqual([]);
  }, 120_000);

  it("is heard, felt and spoken, as much as is wished", async () => {
    const meter = await connect();
    const felt = () => page.evaluate<string[]>("felt.splice(0)");
    await page.getByText("Sound, vibration, voice").click();
    await page.getByRole("checkbox", { name: "Speak the reading" }).check();
    await page.getByRole("button", { name: "The clips are on" }).click();
    await waitForKey();
    await felt();
    meter.volts = 11.62;
    await taken();
    const all = await felt();
    expect(all.filter((each) => each === "tone").length).toBeGreaterThanOrEqual(3);
    expect(all).toContain("shake");
    expect(all.find((each) => each.includes("volts"))).toMatch(/^11\.62\d volts\. Release\.$/);
    meter.volts = 12.41;
    for (const name of ["Sound", "Vibration", "Speak the reading"])
      await page.getByRole("checkbox", { name }).uncheck();
    await page.getByRole("button", { name: "Once more" }).click();
    await waitForKey();
    await felt();
    meter.volts = 11.62;
    await taken();
    expect(await felt()).toEqual([]);
    expect(errors).toEqual([]);
  }, 120_000);

  it("says that a meter sleeps, and takes nothing from before it woke", async () => {
    const meter = await connect();
    await page.getByRole("button", { name: "The clips are on" }).click();
    await waitForKey();
    meter.sleep(true);
    await page.getByText(/the meter says nothing: asleep\?/).waitFor();
    expect(await violations(page)).toEqual([]);
    await picture("live-asleep");
    expect(await page.locator(".taking output").count()).toBe(0);
    meter.sleep(false);
    await page.getByText(/asleep\?/).waitFor({ state: "hidden" });
    await waitForKey();
    meter.volts = 11.62;
    await taken();
    expect(await keptJob<number>(page, "([job]) => job.document.readings[0].volts")).toBeCloseTo(11.621, 2);
    expect(errors).toEqual([]);
  }, 120_000);

  it("says how long the page was out of sight", async () => {
    await connect();
    await page.getByRole("button", { name: "The clips are on" }).click();
    const show = (state: string) =>
      page.evaluate(`Object.defineProperty(document, "visibilityState", { value: "${state}", configurable: true });
        document.dispatchEvent(new Event("visibilitychange"))`);
    await show("hidden");
    await page.getByText(/This page is out of sight/).waitFor();
    await page.waitForTimeout(3_000);
    await show("visible");
    await page.getByText(/was out of sight for \d+ s\. .*repeat a reading/s).waitFor();
    await page.getByRole("button", { name: "Understood" }).click();
    await page.getByText(/was out of sight/).waitFor({ state: "hidden" });
    expect(errors).toEqual([]);
  }, 60_000);
});
