/** The built app on a port of its own, and a real browser before it. */
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { type Browser, type BrowserContext, chromium, type Page } from "playwright-core";

const projectRoot = resolve(import.meta.dirname, "../..");
export const samplesFolder = resolve(projectRoot, "sample-logs");
export const screenshots = resolve(projectRoot, "screenshots");

const places = [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];
export const browserPath = places.find((path) => path !== undefined && existsSync(path));
if (!browserPath) {
  console.log(
    "No Chromium was found (Debian: apt-get install chromium; or set CHROMIUM): the browser tests are left out.",
  );
}

export const launchArguments = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];

/** A first start builds the app. */
export const startMilliseconds = 120_000;

export interface RunningApp {
  readonly address: string;
  stop(): Promise<void>;
}

/**
 * The server as `npm start` runs it, on a port of its own with a store of its own; it builds the app where that is needed.
 * @param port 0: any free one
 */
export async function startApp(port = 0): Promise<RunningApp> {
  const server = spawn(process.execPath, ["--import", "tsx", "api/server.ts"], {
    cwd: projectRoot,
    env: { ...process.env, HOST: "127.0.0.1", PORT: `${port}`, DATA_DIR: mkdtempSync(join(tmpdir(), "web-test-")) },
    stdio: ["ignore", "pipe", "pipe"],
  });
  const ended = new Promise<void>((done) => server.once("exit", () => done()));
  const address = await new Promise<string>((ready, failed) => {
    let said = "";
    const heard = (text: Buffer) => {
      said += text;
      const found = /http:\/\/127\.0\.0\.1:\d+\//.exec(said);
      if (found) ready(found[0]);
    };
    server.stdout.on("data", heard);
    server.stderr.on("data", heard);
    server.once("exit", (code) => failed(new Error(`the server ended with ${code}: ${said}`)));
  });
  return {
    address,
    stop: async () => {
      server.kill("SIGTERM");
      await ended;
    },
  };
}

export const launch = (): Promise<Browser> => chromium.launch({ executablePath: browserPath!, args: launchArguments });

export const sizes = { phone: { width: 360, height: 640 }, laptop: { width: 1280, height: 800 } } as const;
export type Size = keyof typeof sizes;

/** A page of a newcomer: nothing stored yet. What the page reports as an error fails the test that looks at it. */
export async function newcomer(
  browser: Browser,
  address: string,
  size: Size = "laptop",
  options: Parameters<Browser["newContext"]>[0] & {
    /** the page follows the server, and so sees what other pages kept there; left out: it is alone */
    readonly follows?: boolean;
  } = {},
): Promise<{ page: Page; context: BrowserContext; errors: string[] }> {
  const { follows = false, ...contextOptions } = options;
  const context = await browser.newContext({ viewport: sizes[size], ...contextOptions });
  context.setDefaultTimeout(10_000);
  if (!follows) {
    const nothing = { status: 404, contentType: "application/problem+json", body: "{}" };
    await context.route("**/api/session", (route) => route.fulfill(nothing));
  }
  const page = await context.newPage();
  const errors = watchErrors(page);
  await page.goto(address);
  return { page, context, errors };
}

export function watchErrors(page: Page): string[] {
  const errors: string[] = [];
  page.on("pageerror", (error) => errors.push(error.message));
  page.on("console", (message) => {
    // what the server answers to a question of the app's own (is this log there yet?) is no error of the page
    const asked = new URL(message.location().url || page.url()).pathname.startsWith("/api/");
    if (message.type() === "error" && !asked) errors.push(message.text());
  });
  return errors;
}

export async function openSample(page: Page, title: RegExp): Promise<void> {
  await page.getByText("Sample jobs", { exact: true }).click();
  await page.getByRole("button", { name: title }).click();
  await page.getByRole("status", { name: "Result in a sentence" }).waitFor();
}

/** The verdict once it holds still: a diagnosis follows every change. */
export async function resultSentence(page: Page): Promise<string> {
  await page.getByRole("progressbar").waitFor({ state: "detached" });
  return (await page.getByRole("status", { name: "Result in a sentence" }).textContent()) ?? "";
}
