// Cautions belong to steps: the team's list of safety points, each hazard at the step where the hand is at risk.
import { expect, test } from "vitest";
import { causes } from "../../../analysis/diagnosis.ts";
import { cautionsForReading, cautionsForRepair } from "../../../analysis/finding/caution.ts";
import { checkJob } from "../../../analysis/job/job.ts";
import { changedJob } from "../job/orchard-sprayer.ts";

const { job } = checkJob(changedJob(() => {}));
const boat = checkJob(changedJob((job) => Object.assign(job, { setting: "boat", battery: { type: "lithium" } }))).job;
const words = (cautions: { text: string }[]) => cautions.map(({ text }) => text).join("\n");

test("keying asks for a dummy load and a clear antenna, a test load does not", () => {
  const keyed = { from: "load-", to: "body-at-load", engine: "off", radio: "transmit" } as const;
  expect(words(cautionsForReading(job, keyed))).toMatch(/dummy load[\s\S]*antenna/);
  expect(words(cautionsForReading(job, { ...keyed, drawnBy: "test-load" }))).not.toMatch(/dummy load|antenna/);
  expect(words(cautionsForReading(job, { ...keyed, radio: "idle" }))).not.toMatch(/dummy load|antenna/);
});

test("at the battery rings come off first; away from it they are not mentioned", () => {
  const atBattery = cautionsForReading(job, { from: "battery+", to: "battery-", engine: "off", radio: "idle" });
  expect(atBattery[0]!.text).toMatch(/Rings/);
  expect(words(cautionsForReading(job, { from: "load+", to: "load-", engine: "off", radio: "idle" }))).not.toMatch(
    /Rings/,
  );
});

test("a running engine, a clamp, a jumper, a boat each bring their own", () => {
  const reading = { through: "feed", engine: "running", radio: "idle", bypassed: ["ground-stud"] } as const;
  expect(words(cautionsForReading(job, reading))).toMatch(
    /belts[\s\S]*open air[\s\S]*never round a fuse[\s\S]*Zero the DC clamp/,
  );
  expect(words(cautionsForReading(boat, reading))).toMatch(/Petrol/);
});

test("a bad joint: negative off first, and it may be hot; a fuse like for like; the post may carry a sensor", () => {
  const cautionsAt = (part: string) =>
    words(cautionsForRepair(job, { cause: "high-resistance-connection", parts: [part] }));
  expect(cautionsAt("ground-stud")).toMatch(/negative lead off[\s\S]*char/);
  expect(cautionsAt("ground-stud")).not.toMatch(/fuse like for like|sensor|Rings/);
  expect(cautionsAt("main-fuse")).toMatch(/like for like/);
  expect(cautionsAt("battery-strap")).toMatch(/sensor/);
  expect(cautionsAt("battery-lug")).toMatch(/Rings/);
});

test("every cause but a good feed has one, and each names who says so", () => {
  for (const cause of causes) {
    const found = cautionsForRepair(boat, { cause, parts: ["feed"] });
    expect(found.length > 0).toBe(cause !== "supply-sound");
    for (const { text, source } of found) {
      expect(text.length).toBeLessThan(160);
      expect(source).not.toBe("");
    }
  }
});
