/**
 * Measuring live in a real Chromium: a Bluetooth meter that nobody knows is connected, taught, proven, and measures a job
 * to its verdict, with its link lost in the middle and the page reloaded. The meter and the vehicle are invented.
 */
import { mkdirSync } from "node:fs";
import { type Browser, type BrowserContext, chromium, type Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { BluetoothRig, bluetoothArguments, pushShim } from "../../fixtures/ports/bluetooth-rig.ts";
import {
  browserPath,
  type RunningApp,
  screenshots,
  startApp,
  startMilliseconds,
  watchErrors,
} from "../app-under-test.ts";
import { keptJob, type Vehicle, vehicle } from "./simulated-vehicle.ts";

/** An invented protocol: mark, mode, millivolts as a signed 16-bit number, a counter, a sum. */
class InventedMeter {
  volts = 0;
  /** what the display shows: it follows what is measured, and flickers */
  private display = 0;
  /** it was on for a while */
  private count = 100;
  private timer: ReturnType<typeof setInterval> | undefined;

  constructor(private readonly push: (bytes: Uint8Array) => Promise<unknown>) {}

  start(): void {
    this.timer = setInterval(() => void this.push(this.frame()).catch(() => {}), 100);
  }

  stop(): void {
    clearInterval(this.timer);
  }

  get shown(): string {
    return this.display.toFixed(3);
  }

  private frame(): Uint8Array {
    const flicker = [0, 1, -1, 2, 0, -1, 1, -2][this.count % 8]! / 1000;
    this.display += 0.75 * (this.volts - this.display);
    if (Math.abs(this.volts - this.display) < 0.004) this.display = this.volts + flicker;
    const bytes = new DataView(new ArrayBuffer(6));
    bytes.setUint8(0, 0x5a);
    bytes.setUint8(1, 0x02);
    bytes.setInt16(2, Math.round(this.display * 1000));
    bytes.setUint8(4, this.count++ & 255);
    const sum = [0, 1, 2, 3, 4].reduce((all, at) => all + bytes.getUint8(at), 0);
    bytes.setUint8(5, sum & 255);
    return new Uint8Array(bytes.buffer);
  }
}

describe.skipIf(!browserPath)("measuring live over Bluetooth", () => {
  let app: RunningApp;
  let browser: Browser;
  let context: BrowserContext;
  let page: Page;
  let rig: BluetoothRig;
  let meter: InventedMeter;
  let errors: string[];

  beforeAll(async () => {
    mkdirSync(screenshots, { recursive: true });
    app = await startApp();
  }, startMilliseconds);
  afterAll(() => app?.stop());

  beforeEach(async () => {
    browser = await chromium.launch({ executablePath: browserPath!, args: bluetoothArguments });
    context = await browser.newContext({ viewport: { width: 360, height: 640 } });
    context.setDefaultTimeout(30_000);
    const nothing = { status: 404, contentType: "application/problem+json", body: "{}" };
    await context.route("**/api/session", (route) => route.fulfill(nothing));
    await context.addInitScript(pushShim);
    page = await context.newPage();
    errors = watchErrors(page);
    await page.goto(app.address);
    rig = await BluetoothRig.on(browser, page);
    meter = new InventedMeter((bytes) => rig.push(bytes));
  });
  afterEach(async () => {
    await page.screenshot({ path: `${screenshots}/live-last-phone.png`, fullPage: true });
    meter.stop();
    await browser.close();
  });

  async function newJob(): Promise<Vehicle> {
    await page.getByText("New job from a circuit").click();
    await page.getByRole("button", { name: /Chassis return/ }).click();
    await page.getByLabel("Draws keyed").fill("12");
    await page.getByLabel("Draws receiving").fill("0.8");
    await page.getByRole("link", { name: "Measure" }).click();
    await page.getByRole("link", { name: "Read a meter live" }).click();
    const loop = await keptJob<{ point?: string; part?: string; id?: string; style?: string }[]>(
      page,
      "([job]) => job.document.loop",
    );
    const stud = loop.find(({ style }) => style === "ground-stud")!.id!;
    return vehicle(loop, stud, 0.06, 0.8, 12);
  }

  async function connect(): Promise<void> {
    await page.getByRole("button", { name: "Choose the meter" }).click();
    meter.start();
  }

  async function type(volts: number): Promise<void> {
    meter.volts = volts;
    await page.waitForTimeout(1_500);
    await page.getByRole("textbox", { name: "The display shows" }).fill(meter.shown);
    await page.getByRole("button", { name: "It shows this now" }).click();
  }

  async function teach(): Promise<void> {
    await page.getByRole("button", { name: /Teach it/ }).click();
    for (const volts of [12.471, 0.627, -3.318, 7.052]) await type(volts);
    await page.getByText(/% sure. It now/).waitFor();
    for (let more = 0; more < 2 && !(await page.getByLabel("Name it").isVisible()); more++)
      await type(9.813 - 11 * more);
    await page.getByLabel("Name it").fill("bench meter");
    await page.screenshot({ path: `${screenshots}/live-teach-phone.png`, fullPage: true });
    await page.getByRole("button", { name: /keep it/ }).click();
  }

  /** The clips go where the card says; the card that then waits names the place. */
  async function clipOn(loop: Vehicle): Promise<(keyed: boolean, running?: boolean) => void> {
    await page.getByRole("button", { name: "The clips are on" }).click();
    const heading = (await page.locator(".taking:not(.taking-done) h2").textContent())!;
    const points = await keptJob<string[]>(page, "([job]) => job.document.loop.flatMap((item) => item.point ?? [])");
    const spoken = (point: string) =>
      point
        .replaceAll(/[-_](?=\w)/g, " ")
        .replace(/\+$/, " +")
        .replace(/-$/, " −");
    const [from, to] = heading.split(" to ").map((name) => points.find((point) => spoken(point) === name)!);
    const set = (keyed: boolean, running = false) => {
      meter.volts = loop.volts(from!, to!, keyed, running);
    };
    set(false);
    return set;
  }

  /** Done as the card says, however long a busy machine takes to come to each. */
  async function takeOne(loop: Vehicle): Promise<void> {
    const set = await clipOn(loop);
    const card = page.locator(".taking");
    const says = (words: string | RegExp) => card.getByText(words).isVisible();
    let keyedAt = Number.POSITIVE_INFINITY;
    let running = false;
    const key = (down: boolean) => {
      keyedAt = down ? Math.min(keyedAt, Date.now()) : Number.POSITIVE_INFINITY;
      set(down, running);
    };
    const done = async (): Promise<string | null> => {
      if (await says(/^Taken\./)) return "taken";
      const engineWish = await card.getByText(/^Start the engine|^The engine seems to run/).isVisible();
      if (engineWish) running = await says(/^Start the engine/);
      if (engineWish || (await says(/^Release the key/)) || (await says(/^It does not stand still/))) key(false);
      if (await says(/^Key the set/)) {
        // keyed, and the card does not see it: a sound joint shows too little
        if (Date.now() - keyedAt > 4_000) await page.getByRole("button", { name: /nothing moves/ }).click();
        key(true);
      }
      return card.locator(".taking-words").textContent();
    };
    await expect.poll(done, { timeout: 60_000, interval: 300 }).toBe("taken");
    running = false;
    key(false);
  }

  it("teaches a meter, measures to the verdict, and loses nothing to a lost link or a reload", async () => {
    const loop = await newJob();
    await connect();
    await teach();
    await page.getByRole("region", { name: "bench meter" }).waitFor();
    await takeOne(loop);
    await page.screenshot({ path: `${screenshots}/live-taken-phone.png`, fullPage: true });

    // the link is lost while the second is being taken
    const set = await clipOn(loop);
    await rig.loseLink();
    await page.getByText(/Link lost; it is being sought/).waitFor();
    await page.getByText("Connected", { exact: true }).waitFor();
    await page.getByText("Key the set for five seconds.").waitFor();
    set(true);
    await page
      .locator(".taking")
      .getByText(/^Taken\./)
      .waitFor();
    set(false);
    await expect.poll(() => keptJob<number>(page, "([job]) => job.document.readings.length")).toBe(2);

    // the page is killed while the third is being taken
    await clipOn(loop);
    await page.waitForTimeout(2_500);
    await page.reload();
    await page.getByText(/A live log was being taken when the page was closed/).waitFor();
    expect(await keptJob(page, "([job]) => job.document.recordings.length")).toBe(3);
    await page.getByRole("button", { name: "Understood" }).click();
    await rig.adapterOn();
    await page.getByRole("button", { name: "Choose the meter" }).click();
    await page.getByRole("button", { name: "Yes, read it so" }).click();

    for (let more = 0; more < 6; more++) {
      const enough = page.getByText("No further reading would change the answer");
      await enough
        .or(page.getByRole("button", { name: "The clips are on" }))
        .first()
        .waitFor();
      if (await enough.isVisible()) break;
      await takeOne(loop);
    }
    await page.getByRole("link", { name: "See the result" }).first().click();
    const verdict = page.getByRole("status", { name: "Result in a sentence" });
    await expect.poll(() => verdict.textContent(), { timeout: 15_000 }).toMatch(/Fault.*ground.stud/s);
    expect(errors).toEqual([]);
  }, 300_000);
});
