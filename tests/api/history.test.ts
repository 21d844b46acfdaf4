// `history`: jobs of one vehicle from folders on disk, in the order of their days, whatever the order given.
// Source: the jobs are drawn by Ohm's law (tests/fixtures/vehicle-visit.ts).
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { historyLines } from "../../api/history.ts";
import { pageColumns } from "../../api/text/page.ts";
import { visit } from "../fixtures/vehicle-visit.ts";

const work = mkdtempSync(join(tmpdir(), "history-"));
afterAll(() => rmSync(work, { recursive: true, force: true }));

function folderOf(name: string, job: object): string {
  const folder = join(work, name);
  mkdirSync(folder);
  writeFileSync(join(folder, "job.json"), JSON.stringify(job));
  return folder;
}

test("visits by day, the part that gets worse first, no line wider than the page", async () => {
  const folders = [
    folderOf("third", visit("2026-03-01", 5.4)),
    folderOf("first", visit("2024-03-01", 1.1)),
    folderOf("second", { ...visit("2025-03-01", 3.2), vehicleId: "another" }),
  ];
  const lines = await historyLines(folders, () => {});
  const days = lines.flatMap((line) => /^ {2}(\d{4}-\d\d-\d\d)/.exec(line)?.[1] ?? []);
  expect(days).toEqual(["2024-03-01", "2025-03-01", "2026-03-01"]);
  expect(lines[0]).toBe("These jobs give more than one vehicle's number: tender 7, another.");
  const going = lines.indexOf("Getting worse: ground-stud.");
  expect(going).toBeGreaterThan(0);
  const told = [...lines[going + 1]!.matchAll(/([\d.]+) mΩ ± ([\d.]+) mΩ/g)].map(([, ohms, doubt]) =>
    [ohms, doubt].map(Number),
  );
  expect(told).toHaveLength(3);
  [1.1, 3.2, 5.4].forEach((truth, i) => {
    expect(Math.abs(told[i]![0]! - truth)).toBeLessThan(told[i]![1]!);
  });
  expect(Math.max(...lines.map((line) => line.length))).toBeLessThanOrEqual(pageColumns);
  await expect(historyLines([...folders, join(work, "none")], () => {})).rejects.toThrow(/should be a job folder/);
}, 60_000);
