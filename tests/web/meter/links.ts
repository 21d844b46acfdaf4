/** The links by which a meter reaches the page, each as real as the machine allows: how it is connected, lost and found. */
import { type Browser, chromium, type Page } from "playwright-core";
import { BluetoothRig, bluetoothArguments, pushShim } from "../../fixtures/ports/bluetooth-rig.ts";
import { canFakePorts, launchWithPort } from "../../fixtures/ports/browser-with-port.ts";
import { PseudoTerminal, socatPath } from "../../fixtures/ports/pseudo-terminal.ts";
import { browserPath, launch } from "../app-under-test.ts";

export interface Link {
  readonly browser: Browser;
  /** to run in every page before its own code */
  readonly shim: string;
  /** the page is there, nothing is connected yet */
  ready(page: Page): Promise<void>;
  connect(page: Page): Promise<void>;
  push(bytes: Uint8Array): void;
  lose(): Promise<void>;
  find(): Promise<void>;
  /** the page was loaded anew */
  reloaded(): Promise<void>;
  end(): Promise<void>;
}

export interface LinkKind {
  readonly name: string;
  readonly possible: boolean;
  /** @param address of the app, with localhost for its host */
  open(address: string): Promise<Link>;
}

async function bluetooth(): Promise<Link> {
  const browser = await chromium.launch({ executablePath: browserPath!, args: bluetoothArguments });
  let rig: BluetoothRig;
  return {
    browser,
    shim: pushShim,
    ready: async (page) => {
      rig = await BluetoothRig.on(browser, page);
    },
    connect: (page) => page.getByRole("button", { name: "Choose the meter" }).click(),
    push: (bytes) => void rig.push(bytes).catch(() => {}),
    lose: () => rig.loseLink(),
    find: async () => {},
    reloaded: () => rig.adapterOn(),
    end: () => browser.close(),
  };
}

/** In a headless browser no port can be chosen: the one that the policy grants stands in. */
const grantedPort =
  "if (navigator.serial) navigator.serial.requestPort = async () => (await navigator.serial.getPorts())[0]";

async function cable(
  start: (terminal: PseudoTerminal) => Promise<Browser>,
  connect: (page: Page, terminal: PseudoTerminal) => Promise<void>,
): Promise<Link> {
  const terminal = await PseudoTerminal.plugged();
  const browser = await start(terminal);
  let plugged = true;
  return {
    browser,
    shim: grantedPort,
    ready: async () => {},
    connect: (page) => connect(page, terminal),
    push: (bytes) => {
      if (plugged) terminal.write(bytes);
    },
    lose: () => {
      plugged = false;
      return terminal.unplug();
    },
    find: async () => {
      await terminal.plug();
      plugged = true;
    },
    reloaded: async () => {},
    end: async () => {
      plugged = false;
      await browser.close();
      await terminal.end();
    },
  };
}

export async function readServerPort(page: Page, { port }: PseudoTerminal): Promise<void> {
  await page.getByRole("radio", { name: "Server’s cable" }).check();
  await page.getByLabel("Port", { exact: true }).fill(port);
  await page.getByRole("button", { name: "Read this port" }).click();
}

const kinds: readonly LinkKind[] = [
  { name: "Bluetooth", possible: true, open: bluetooth },
  {
    name: "the browser's serial port",
    possible: canFakePorts,
    open: (address) =>
      cable(
        (terminal) => launchWithPort(terminal, address.replace(/\/$/, "")),
        async (page) => {
          await page.getByRole("radio", { name: "Cable", exact: true }).check();
          await page.getByRole("button", { name: "Choose the port" }).click();
        },
      ),
  },
  {
    name: "the server's serial port",
    possible: socatPath !== undefined,
    open: () => cable(() => launch(), readServerPort),
  },
];

export const possibleLinks = kinds.filter(({ possible }) => possible && browserPath);
