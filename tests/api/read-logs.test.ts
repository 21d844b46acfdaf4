/** Logs read by several threads are what one thread reads, digit for digit; so is what is wrong with them. */
import { cpSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, afterEach, describe, expect, test, vi } from "vitest";
import { cutLogs, diagnose, type ReadLog } from "../../analysis/index.ts";
import { openJobFolder } from "../../api/job-folder.ts";
import { LogHelper } from "../../api/log-helper.ts";
import { readLogs } from "../../api/read-logs.ts";

const temporary = mkdtempSync(join(tmpdir(), "read-logs-"));
afterAll(() => rmSync(temporary, { recursive: true, force: true }));
afterEach(() => void vi.restoreAllMocks());

const sample = (name: string) => join(import.meta.dirname, "../../sample-logs", name);

async function read(path: string, helpers: number): Promise<ReadLog[]> {
  const shares: number[] = [];
  const logs = await readLogs(openJobFolder(path), (share) => shares.push(share), helpers);
  expect(shares.at(-1)).toBeCloseTo(1, 12);
  expect(shares).toEqual(shares.toSorted((a, b) => a - b));
  return logs;
}

const cutHere = (logs: readonly ReadLog[]): ReadLog[] => {
  const cuts = logs.map(({ samples }) => cutLogs([samples])[0]);
  return logs.map((log, index) => ({ ...log, cut: cuts[index] }));
};

describe.each(["log-loader-two-clocks", "feed-mixer-before-after", "harbour-workboat-loose-contact"])("%s", (name) => {
  test.each([1, 3])("read with helpers beside: %i", async (helpers) => {
    const alone = await read(sample(name), 0);
    const asked = vi.spyOn(LogHelper.prototype, "read");
    const together = await read(sample(name), helpers);
    expect((await Promise.all(asked.mock.results.map(({ value }) => value))).length).toBeGreaterThan(0);
    expect(together).toEqual(cutHere(alone));
    const { job } = openJobFolder(sample(name));
    expect(JSON.stringify(diagnose(name, job, together))).toBe(JSON.stringify(diagnose(name, job, alone)));
  });
});

describe("what is wrong", () => {
  function hurt(name: string, ...files: readonly number[]): string {
    const path = join(temporary, name);
    cpSync(sample("log-loader-two-clocks"), path, { recursive: true });
    const logs = [...new Set(openJobFolder(path).job.recordings.map(({ file }) => file))];
    for (const at of files) writeFileSync(join(path, logs[at]!), `no numbers in log ${at}\n`);
    return path;
  }

  test.each([
    ["the first", [0]],
    ["the second", [1]],
    ["both", [0, 1]],
  ])("%s of the logs: the same sentence, of the first in the job's order", async (name, files) => {
    const path = hurt(name, ...files);
    const said = (helpers: number) =>
      readLogs(openJobFolder(path), () => {}, helpers).then(
        () => "nothing",
        ({ name: kind, message }: Error) => `${kind}: ${message}`,
      );
    const alone = await said(0);
    expect(alone).toMatch(/^Problem: .*no rows of numbers/);
    expect(await said(1)).toBe(alone);
  });

  test("a helper that fails: its files are read here", async () => {
    vi.spyOn(LogHelper.prototype, "read").mockRejectedValue(new Error("no memory"));
    const path = sample("log-loader-two-clocks");
    const together = await readLogs(openJobFolder(path), () => {}, 1);
    expect(together).toEqual(cutHere(await read(path, 0)));
  });
});
