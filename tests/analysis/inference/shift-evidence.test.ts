/**
 * A log of another moment that stayed quiet speaks against a contact in its sight. Figures invented.
 */
import { expect, test } from "vitest";
import { prepareRound } from "../../../analysis/inference/round-setting.ts";
import { quietLogs, shiftEvidence } from "../../../analysis/inference/shift-evidence.ts";
import { partsOf } from "../../../analysis/job/route.ts";
import { expectedParts } from "../../../analysis/loop/expected-part.ts";
import type { Reading } from "../../../analysis/reading/reading.ts";
import { declaredJob } from "../../fixtures/declared-job.ts";
import { keyedLevel } from "../../fixtures/keyed-level.ts";

const job = declaredJob();

const level = (from: string, to: string, value: number, fields: Partial<Reading> = {}): Reading =>
  keyedLevel({
    place: { quantity: "volts", from, to },
    value,
    session: `${from} ${to}`,
    seesSource: from === "load+",
    ...fields,
  });
const shifting = [
  level("load+", "load-", 12.2),
  level("load+", "load-", 11.4, { disturbed: true, seconds: 5, times: 5 }),
];
const settingOf = (more: Reading[]) => prepareRound(job, expectedParts(job), [...shifting, ...more], []);
const intermittentAt = (id: string) => ({
  faults: [{ cause: "intermittent-connection", part: partsOf(job).findIndex((part) => part.id === id) } as const],
  prior: 1,
});

test("five shifts in 20 s, and 15 s without: (20/35)^5.5 is 0.046, of which a tenth is left", () => {
  const [quiet] = quietLogs(settingOf([level("load-", "battery-", 0.06, { moment: "later" })]));
  expect(quiet!.logShare).toBeCloseTo(Math.log(0.1), 9);
});

test("two seconds without say less: (20/22)^5.5 is 0.592", () => {
  const [quiet] = quietLogs(settingOf([level("load-", "battery-", 0.06, { moment: "later", seconds: 2 })]));
  expect(Math.exp(quiet!.logShare)).toBeCloseTo(0.592, 3);
});

test("only what the log has between its probes is spoken against", () => {
  const evidence = shiftEvidence(settingOf([level("load-", "battery-", 0.06, { moment: "later" })]));
  expect(evidence(intermittentAt("main-fuse")) - evidence(intermittentAt("ground-stud"))).toBeCloseTo(Math.log(10), 9);
});

test.each([
  ["was taken with the others", { moment: null }],
  ["shows the shift itself", { moment: "later", disturbed: true }],
  ["would hardly show it", { moment: "later", noise: 0.2 }],
])("a log that %s is not quiet", (_, fields) => {
  expect(quietLogs(settingOf([level("load-", "battery-", 0.06, fields)]))).toEqual([]);
});
