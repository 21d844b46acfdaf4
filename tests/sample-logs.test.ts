/**
 * Every sample job against what its truth demands (`expected.json`, worked out from the true circuit, not by the program):
 * verdict, first finding with all the parts that its readings cannot tell apart, volts lost, and any second fault.
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { diagnoseFiles, type Finding } from "../analysis/index.ts";

const samples = join(import.meta.dirname, "../sample-logs");

interface ExpectedFinding {
  readonly cause: string;
  readonly parts: readonly string[];
  readonly dropVolts: { readonly low: number; readonly high: number } | null;
}

interface Expected {
  readonly rounds: readonly {
    readonly round: string;
    readonly verdict: string;
    readonly first: ExpectedFinding | null;
    readonly also: readonly ExpectedFinding[];
  }[];
  readonly repairHeld: boolean | null;
}

function filesOf(folder: string): Map<string, Uint8Array> {
  const names = readdirSync(folder).filter((name) => name !== "truth.json" && name !== "expected.json");
  return new Map(names.map((name) => [name, readFileSync(join(folder, name))]));
}

const names = readdirSync(samples, { withFileTypes: true }).flatMap((entry) =>
  entry.isDirectory() ? [entry.name] : [],
);

test("at least twelve sample jobs", () => expect(names.length).toBeGreaterThanOrEqual(12));

describe.each(names)("%s", (name) => {
  const folder = join(samples, name);
  const expected: Expected = JSON.parse(readFileSync(join(folder, "expected.json"), "utf8"));
  const diagnosis = diagnoseFiles(name, filesOf(folder));

  test.each(expected.rounds)("round $round: $verdict", ({ round, verdict, first, also }) => {
    const found = diagnosis.rounds.find((own) => own.round === round)!;
    expect(found.verdict).toBe(verdict);
    if (first !== null) expectFinding(found.findings[0]!, first);
    for (const one of also) {
      const second = found.findings.find(
        ({ cause, parts }) => cause === one.cause && one.parts.every((id) => parts.includes(id)),
      );
      expect(second?.probability ?? 0).toBeGreaterThan(0.05);
    }
  });

  test("the repair held, or there was none", () => {
    expect(diagnosis.comparison?.repairHeld ?? null).toBe(expected.repairHeld);
  });

  test("no cause costs more volts than a battery has", () => {
    for (const { findings } of diagnosis.rounds)
      for (const { cause, dropVolts } of findings) expect(dropVolts ?? 0, cause).toBeLessThan(16);
  });

  test("no figure is anything but a number", () => {
    expect(JSON.stringify(diagnosis)).not.toMatch(/NaN|Infinity/);
    for (const { findings } of diagnosis.rounds) {
      for (const { probability } of findings) expect(probability >= 0 && probability <= 1).toBe(true);
    }
  });
});

function expectFinding(found: Finding, wanted: ExpectedFinding): void {
  expect(found.cause).toBe(wanted.cause);
  expect([...found.parts].sort()).toEqual([...wanted.parts].sort());
  if (wanted.dropVolts === null) return;
  expect(found.dropVolts).toBeGreaterThanOrEqual(wanted.dropVolts.low);
  expect(found.dropVolts).toBeLessThanOrEqual(wanted.dropVolts.high);
}
