/** Every sample job's record, made in the browser and on the command line: the same bytes, hence the same text. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { openRecord } from "../../analysis/index.ts";
import { report, reportRequest } from "../../api/report.ts";
import { appInBrowser } from "./app-in-browser.ts";
import { browserPath, newcomer, samplesFolder } from "./app-under-test.ts";

const work = mkdtempSync(join(tmpdir(), "records-"));
const samples = readdirSync(samplesFolder, { withFileTypes: true }).flatMap((entry) =>
  entry.isDirectory() ? [entry.name] : [],
);

describe.skipIf(!browserPath)("the record in the browser and on the command line", () => {
  const running = appInBrowser();
  afterAll(() => rmSync(work, { recursive: true, force: true }));

  it.each(samples)(
    "%s",
    async (sample) => {
      const { page, context, errors } = await newcomer(running.browser, running.app.address);
      const { title } = JSON.parse(readFileSync(join(samplesFolder, sample, "job.json"), "utf8")) as { title: string };
      await page.getByText("Sample jobs", { exact: true }).click();
      await page.getByRole("button", { name: title, exact: true }).click();
      await page.getByRole("link", { name: "Record", exact: true }).click();
      const coming = page.waitForEvent("download", { timeout: 60_000 });
      await page.getByRole("button", { name: "Save the record as PDF" }).click();
      const record = readFileSync(await (await coming).path());
      const { stamp, folder } = await openRecord(record, sample);
      for (const name of folder.names.filter((one) => one !== "job.json")) {
        const log = Buffer.concat([...folder.read(name)!]);
        expect(log.equals(readFileSync(join(samplesFolder, sample, name))), name).toBe(true);
      }
      const carried = join(work, `${sample}.pdf`);
      writeFileSync(carried, record);
      const again = join(work, `${sample}-again.pdf`);
      await report(reportRequest([carried, "--out", again], stamp.madeOn));
      expect(readFileSync(again).equals(record)).toBe(true);
      expect(errors).toEqual([]);
      await context.close();
    },
    120_000,
  );
});
