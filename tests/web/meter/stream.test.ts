/**
 * One suite over all sources of a meter's bytes, each in a real Chromium: Bluetooth on the browser's emulated adapter,
 * Web Serial and the server's serial port on real terminals (socat), and a recording.
 */
import { type Browser, chromium, type Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { BluetoothRig, bluetoothArguments, pushShim, serviceUuid } from "../../fixtures/ports/bluetooth-rig.ts";
import { canFakePorts, launchWithPort } from "../../fixtures/ports/browser-with-port.ts";
import { PseudoTerminal, socatPath } from "../../fixtures/ports/pseudo-terminal.ts";
import { browserPath, launch } from "../app-under-test.ts";
import { meterPage } from "./meter-page.ts";

type Step = { readonly push: Uint8Array } | { readonly link: "lost" | "found" };

/** A meter at the other end of a source, in one page of one browser. */
interface Rig {
  readonly page: Page;
  /** opens the stream, and has the meter do these things one after the other */
  play(steps: readonly Step[]): Promise<string>;
  /** what was sent to the meter, as text */
  received(): Promise<string>;
  /** after which the next opening must fail */
  breakOff(): Promise<void>;
  end(): Promise<void>;
}

interface Heard {
  readonly bytes: number[];
  readonly seconds: number[];
  readonly states: string[];
}

let site: Awaited<ReturnType<typeof meterPage>>;
beforeAll(async () => {
  site = await meterPage();
}, 60_000);
afterAll(() => site?.end());

async function openPage(browser: Browser, shim = ""): Promise<Page> {
  const page = await browser.newPage();
  if (shim) await page.addInitScript(shim);
  await page.goto(site.page);
  await until(page, "globalThis.heard !== undefined");
  return page;
}

const heard = (page: Page): Promise<Heard> =>
  page.evaluate("({ bytes: heard.bytes, seconds: heard.seconds, states: heard.states })");

/** The page's own rules let no text be run as code there, so the test asks again and again. */
const until = (page: Page, truth: string): Promise<void> =>
  expect.poll(() => page.evaluate(truth), { timeout: 15_000, interval: 20 }).toBe(true);

/** Opens, then does step by step what the meter does; each change of the link is waited for. */
async function played(
  page: Page,
  open: string,
  steps: readonly Step[],
  does: { push(bytes: Uint8Array): Promise<unknown>; lose(): Promise<void>; find(): Promise<void> },
): Promise<string> {
  const opened = (await page.evaluate(open)) as string;
  let states = 2;
  for (const step of opened === "open" ? steps : []) {
    if ("push" in step) await does.push(step.push);
    else {
      await page.waitForTimeout(100);
      await (step.link === "lost" ? does.lose() : does.find());
      await until(page, `heard.states.length >= ${++states}`);
    }
  }
  return opened;
}

async function bluetooth(): Promise<Rig> {
  const browser = await chromium.launch({ executablePath: browserPath!, args: bluetoothArguments });
  const page = await openPage(browser, pushShim);
  const rig = await BluetoothRig.on(browser, page);
  const open = `navigator.bluetooth.requestDevice({ acceptAllDevices: true, optionalServices: ["${serviceUuid}"] })
    .then((device) => open(new BluetoothStream(device, { connectSeconds: 1, callSeconds: 1 })))`;
  return {
    page,
    play: (steps) =>
      played(page, open, steps, {
        push: (bytes) => rig.push(bytes),
        async lose() {
          rig.silent.add("connection");
          await rig.loseLink();
        },
        find: async () => void rig.silent.delete("connection"),
      }),
    received: async () => Buffer.from(rig.received).toString(),
    breakOff: async () => void rig.silent.add("connection"),
    end: () => browser.close(),
  };
}

async function onTerminal(launching: (terminal: PseudoTerminal) => Promise<Browser>, opening: string): Promise<Rig> {
  const terminal = await PseudoTerminal.plugged();
  const browser = await launching(terminal);
  const page = await openPage(browser);
  const open = opening.replace("PATH", terminal.port);
  const meter = {
    push: async (bytes: Uint8Array) => terminal.write(bytes),
    lose: () => terminal.unplug(),
    find: () => terminal.plug(),
  };
  return {
    page,
    play: (steps) => played(page, open, steps, meter),
    received: async () => Buffer.from(terminal.received).toString(),
    breakOff: () => terminal.unplug(),
    async end() {
      await browser.close();
      await terminal.end();
    },
  };
}

const webSerial = () =>
  onTerminal(
    (terminal) => launchWithPort(terminal, site.page.replace(/\/$/, "")),
    "navigator.serial.getPorts().then(([port]) => open(new SerialStream(port)))",
  );
const serverSerial = () => onTerminal(launch, 'open(new ServerStream("PATH"))');

/** What a live meter would do is written down, and played. */
async function replay(): Promise<Rig> {
  const browser = await launch();
  const page = await openPage(browser);
  let broken = false;
  return {
    page,
    play(steps) {
      const at = (place: number) => place / 200;
      const bytes = steps.flatMap((step, place) =>
        "push" in step ? [{ seconds: at(place), base64: Buffer.from(step.push).toString("base64") }] : [],
      );
      const states = steps.flatMap((step, place) =>
        "link" in step ? [{ seconds: at(place), state: step.link === "lost" ? "lost" : "open" }] : [],
      );
      const idle = (seconds: number) => ({ seconds, base64: "" });
      const log = {
        format: "bytes/1",
        bytes: broken ? [] : [idle(0), ...bytes, idle(3600)],
        states: broken ? [] : states,
      };
      return page.evaluate(`open(new ReplayStream(${JSON.stringify(log)}))`);
    },
    received: () => page.evaluate("heard.stream.sent.map((bytes) => new TextDecoder().decode(bytes)).join('')"),
    breakOff: async () => {
      broken = true;
    },
    end: () => browser.close(),
  };
}

/** Bytes of every value, cut anywhere, as links do. */
function cutAnywhere(count: number): Uint8Array[] {
  const chance = seeded(7);
  let value = 0;
  return Array.from({ length: count }, () =>
    Uint8Array.from({ length: 1 + Math.floor(chance() * 19) }, () => value++ & 255),
  );
}

function seeded(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

const text = (words: string): Step => ({ push: new TextEncoder().encode(words) });

const sources: readonly [string, boolean, () => Promise<Rig>][] = [
  ["Bluetooth", true, bluetooth],
  ["Web Serial", canFakePorts, webSerial],
  ["the server's serial port", socatPath !== undefined, serverSerial],
  ["a recording", true, replay],
];

for (const [name, possible, make] of sources) {
  describe.skipIf(!browserPath || !possible)(`a meter over ${name}`, () => {
    let rig: Rig;
    beforeEach(async () => {
      rig = await make();
    });
    afterEach(() => rig?.end());

    it("gives all bytes in order, with the moment they came", async () => {
      const pieces = cutAnywhere(200);
      expect(await rig.play(pieces.map((push) => ({ push })))).toBe("open");
      const all = pieces.flatMap((piece) => [...piece]);
      await until(rig.page, `heard.bytes.length >= ${all.length}`);
      const { bytes, seconds, states } = await heard(rig.page);
      expect(bytes).toEqual(all);
      expect(seconds).toEqual(seconds.toSorted((a, b) => a - b));
      const now = (await rig.page.evaluate("performance.now() / 1000")) as number;
      expect(seconds[0]).toBeGreaterThanOrEqual(0);
      expect(seconds.at(-1)).toBeLessThanOrEqual(now);
      expect(states).toEqual(["opening", "open"]);
    });

    it("finds a lost link again by itself, and says both", async () => {
      expect(await rig.play([text("before "), { link: "lost" }, { link: "found" }, text("after")])).toBe("open");
      await until(rig.page, "heard.bytes.length >= 12");
      const { bytes, states } = await heard(rig.page);
      expect(Buffer.from(bytes).toString()).toBe("before after");
      expect(states).toEqual(["opening", "open", "lost", "open"]);
    });

    it("sends to the meter", async () => {
      await rig.play([]);
      await rig.page.evaluate('heard.stream.send(new TextEncoder().encode("READ?"))');
      await expect.poll(() => rig.received()).toBe("READ?");
    });

    it("is quiet once closed", async () => {
      await rig.play([text("heard")]);
      await until(rig.page, "heard.bytes.length >= 5");
      await rig.page.evaluate("heard.stream.close()");
      const { bytes, states } = await heard(rig.page);
      expect(Buffer.from(bytes).toString()).toBe("heard");
      expect(states).toEqual(["opening", "open", "closed"]);
      expect(await rig.page.evaluate("heard.stream.send(new Uint8Array(1)).then(() => 'sent', () => 'refused')")).toBe(
        "refused",
      );
    });

    it("says in a sentence why it cannot be opened", async () => {
      await rig.breakOff();
      expect(await rig.play([])).toMatch(/^[A-Z/].{15,160}\.$/);
    });
  });
}
