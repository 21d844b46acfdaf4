/** No network is the normal case: loaded once, the app opens, describes, imports and diagnoses without its server, and after a restart. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { zipSync } from "fflate";
import { type BrowserContext, chromium } from "playwright-core";
import { afterAll, describe, expect, it } from "vitest";
import { diagnoseFiles } from "../../analysis/index.ts";
import {
  browserPath,
  launchArguments,
  openSample,
  resultSentence,
  samplesFolder,
  sizes,
  startApp,
} from "./app-under-test.ts";

const work = mkdtempSync(join(tmpdir(), "offline-"));
const open = (): Promise<BrowserContext> =>
  chromium.launchPersistentContext(join(work, "profile"), {
    executablePath: browserPath!,
    args: launchArguments,
    viewport: sizes.laptop,
  });

describe.skipIf(!browserPath)("offline", () => {
  afterAll(() => rmSync(work, { recursive: true, force: true }));

  it("keeps everything without its server, and through a restart of the browser", async () => {
    const app = await startApp();
    let browser = await open();
    let page = browser.pages()[0] ?? (await browser.newPage());
    await page.goto(app.address);
    await openSample(page, /Orchard sprayer/);
    await page.goto(`${app.address}#/settings`);
    await page.getByText("opens without a network").waitFor();
    await app.stop();

    await page.reload();
    await page.getByRole("heading", { name: "Settings" }).waitFor();
    await page.goto(app.address);
    await page.getByText("New job from a circuit").click();
    await page.getByRole("button", { name: /Fused pair/ }).click();
    await page.getByLabel("Job", { exact: true }).fill("Described in the field");
    await page.getByText(/should be lost of/).waitFor();

    await page.getByRole("link", { name: "all jobs" }).click();
    const choosing = page.waitForEvent("filechooser");
    await page.getByRole("button", { name: "Open logs or a job folder" }).click();
    await (await choosing).setFiles(zippedSample("crew-boat-two-faults"));
    expect(await resultSentence(page)).toContain(sentenceInNode("crew-boat-two-faults"));
    await browser.close();

    browser = await open();
    page = browser.pages()[0] ?? (await browser.newPage());
    await page.goto(app.address);
    for (const title of [/Described in the field/, /Crew boat/, /Orchard sprayer/]) {
      await page.getByRole("link", { name: title }).waitFor();
    }
    await page.getByRole("link", { name: /Orchard sprayer/ }).click();
    expect(await resultSentence(page)).toContain("ground-stud");
    await browser.close();
  });
});

const filesOf = (name: string): [string, Uint8Array][] =>
  readdirSync(resolve(samplesFolder, name)).map((file) => [
    file,
    new Uint8Array(readFileSync(resolve(samplesFolder, name, file))),
  ]);

function zippedSample(name: string): string {
  const path = join(work, `${name}.zip`);
  writeFileSync(path, zipSync(Object.fromEntries(filesOf(name))));
  return path;
}

/** What the analysis says outside the browser. */
function sentenceInNode(name: string): string {
  return diagnoseFiles(name, new Map(filesOf(name))).rounds.at(-1)!.findings[0]!.summary;
}
