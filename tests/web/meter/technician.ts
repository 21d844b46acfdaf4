/** Somebody who measures with the app open: does what its cards say, with a meter clipped to a vehicle; both are invented. */
import type { FileChooser, Page } from "playwright-core";
import { expect } from "vitest";
import type { InventedMeter } from "../../fixtures/ports/invented-meter.ts";
import { keptJob, type Vehicle, vehicle } from "./simulated-vehicle.ts";

export async function newJob(page: Page): Promise<void> {
  await page.getByText("New job from a circuit").click();
  await page.getByRole("button", { name: /Chassis return/ }).click();
  await page.getByLabel("Draws keyed").fill("12");
  await page.getByLabel("Draws receiving").fill("0.8");
  await page.getByRole("link", { name: "Measure" }).click();
  await page.getByRole("link", { name: "Read a meter live" }).click();
}

/** A recording of a meter's bytes in the meter's place, on the page where one is connected. */
export async function playRecording(page: Page, recording: Parameters<FileChooser["setFiles"]>[0]): Promise<void> {
  await page.getByRole("radio", { name: "Recording", exact: true }).check();
  const [picker] = await Promise.all([
    page.waitForEvent("filechooser"),
    page.getByRole("button", { name: "Open a recording" }).click(),
  ]);
  await picker.setFiles(recording);
}

/** The vehicle of the job just made: its ground stud has 60 mΩ. */
export async function vehicleOf(page: Page): Promise<Vehicle> {
  const loop = await keptJob<{ point?: string; part?: string; id?: string; style?: string }[]>(
    page,
    "([job]) => job.document.loop",
  );
  const stud = loop.find(({ style }) => style === "ground-stud")!.id!;
  return vehicle(loop, stud, 0.06, 0.8, 12);
}

/** Types what the display shows until the app has learnt it, and gives the meter a name. */
export async function teach(page: Page, meter: InventedMeter, screenshot: string): Promise<void> {
  const type = async (volts: number) => {
    meter.volts = volts;
    await page.waitForTimeout(1_500);
    await page.getByRole("textbox", { name: "The display shows" }).fill(meter.shown);
    await page.getByRole("button", { name: "It shows this now" }).click();
  };
  await page.getByRole("button", { name: /Teach it/ }).click();
  for (const volts of [12.471, 0.627, -3.318, 7.052]) await type(volts);
  await page.getByText(/% sure. It now/).waitFor();
  for (let more = 0; more < 2 && !(await page.getByLabel("Name it").isVisible()); more++) await type(9.813 - 11 * more);
  await page.getByLabel("Name it").fill("bench meter");
  await page.screenshot({ path: screenshot, fullPage: true });
  await page.getByRole("button", { name: /keep it/ }).click();
}

type Set = (keyed: boolean, running?: boolean) => void;

/** The clips go where the card says; the card that then waits names the place. */
export async function clipOn(page: Page, meter: InventedMeter, loop: Vehicle): Promise<Set> {
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
export async function takeOne(page: Page, set: Set): Promise<void> {
  const card = page.locator(".taking");
  const says = (words: RegExp) => card.getByText(words).isVisible();
  let keyedAt = Number.POSITIVE_INFINITY;
  let running = false;
  const key = (down: boolean) => {
    keyedAt = down ? Math.min(keyedAt, Date.now()) : Number.POSITIVE_INFINITY;
    set(down, running);
  };
  const done = async (): Promise<string | null> => {
    if (await says(/^Taken\./)) return "taken";
    const engineWish = await says(/^Start the engine|^The engine seems to run/);
    if (engineWish) running = await says(/^Start the engine/);
    if (engineWish || (await says(/^Release the key|^It does not stand still/))) key(false);
    if (await says(/^Key the set/)) {
      // keyed, and the card does not see it: a sound joint shows too little
      if (Date.now() - keyedAt > 4_000) await page.getByRole("button", { name: /nothing moves/ }).click();
      key(true);
    }
    return card.locator(".taking-words").textContent();
  };
  await expect.poll(done, { timeout: 60_000, interval: 300 }).toBe("taken");
  set(false);
}
