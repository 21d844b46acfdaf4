/**
 * Measuring live over real serial lines, the browser's own and the server's (socat): a meter that sends lines of text is
 * read without being taught, a reading is taken, the cable is pulled out and put in again, and another is taken.
 */
import type { Browser, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { canFakePorts, launchWithPort } from "../../fixtures/ports/browser-with-port.ts";
import { PseudoTerminal, socatPath } from "../../fixtures/ports/pseudo-terminal.ts";
import { browserPath, launch, newcomer, type RunningApp, startApp, startMilliseconds } from "../app-under-test.ts";
import { keptJob } from "./simulated-vehicle.ts";

let app: RunningApp;
let address: string;
beforeAll(async () => {
  if (!browserPath || !socatPath) return;
  app = await startApp();
  address = app.address.replace("127.0.0.1", "localhost");
}, startMilliseconds);
afterAll(() => app?.stop());

/** In a headless browser no port can be chosen: the one that the policy grants stands in. */
const grantedPort =
  "if (navigator.serial) navigator.serial.requestPort = async () => (await navigator.serial.getPorts())[0]";

interface Way {
  readonly name: string;
  readonly possible: boolean;
  launch(terminal: PseudoTerminal): Promise<Browser>;
  connect(page: Page, terminal: PseudoTerminal): Promise<void>;
}

const ways: readonly Way[] = [
  {
    name: "the browser's serial port",
    possible: canFakePorts,
    launch: (terminal) => launchWithPort(terminal, address.replace(/\/$/, "")),
    async connect(page) {
      await page.getByRole("radio", { name: "Cable", exact: true }).check();
      await page.getByRole("button", { name: "Choose the port" }).click();
    },
  },
  {
    name: "the server's serial port",
    possible: socatPath !== undefined,
    launch: () => launch(),
    async connect(page, terminal) {
      await page.getByRole("radio", { name: "Server’s cable" }).check();
      await page.getByLabel("Port", { exact: true }).fill(terminal.port);
      await page.getByRole("button", { name: "Read this port" }).click();
    },
  },
];

describe.each(ways.filter(({ possible }) => possible && browserPath))("live over $name", (way) => {
  let terminal: PseudoTerminal;
  let browser: Browser;
  let timer: ReturnType<typeof setInterval>;
  let volts = 12.41;
  let plugged = true;

  beforeEach(async () => {
    terminal = await PseudoTerminal.plugged();
    browser = await way.launch(terminal);
    let flicker = 0;
    timer = setInterval(() => {
      if (plugged) terminal.write(Buffer.from(`${(volts + (flicker++ % 3) / 1000).toFixed(3)} V\r\n`));
    }, 150);
  });
  afterEach(async () => {
    clearInterval(timer);
    await browser?.close();
    await terminal?.end();
  });

  it("takes readings, before and after the cable was out", async () => {
    const { page, errors } = await newcomer(browser, address, "phone");
    await page.addInitScript(grantedPort);
    await page.reload();
    await page.getByText("New job from a circuit").click();
    await page.getByRole("button", { name: /Chassis return/ }).click();
    await page.getByLabel("Draws keyed").fill("12");
    await page.getByRole("link", { name: "Measure" }).click();
    await page.getByRole("link", { name: "Read a meter live" }).click();
    await way.connect(page, terminal);
    await page.getByRole("button", { name: "Yes, read it so" }).click();
    await page.getByRole("button", { name: "The clips are on" }).click();
    await page.getByText("Key the set for five seconds.").waitFor();
    volts = 11.62;
    await page.getByText(/^Taken\./).waitFor();
    volts = 12.41;
    await page.getByRole("button", { name: "Once more" }).click();
    await page.getByText("Key the set for five seconds.").waitFor();
    plugged = false;
    await terminal.unplug();
    await page.getByText(/Link lost; it is being sought/).waitFor();
    await terminal.plug();
    plugged = true;
    await page.getByText("Connected", { exact: true }).waitFor({ timeout: 20_000 });
    await page.getByText("Key the set for five seconds.").waitFor();
    volts = 11.58;
    await page.getByText(/^Taken\./).waitFor();
    const taken = await keptJob<number[]>(page, "([job]) => job.document.readings.map(({ volts }) => volts)");
    expect(taken.map((value) => Math.abs(value - 11.621) < 0.002 || Math.abs(value - 11.581) < 0.002)).toEqual([
      true,
      true,
    ]);
    expect(errors).toEqual([]);
  }, 90_000);
});
