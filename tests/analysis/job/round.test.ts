// Rounds as formats.md section 1 has them: in the order in which they first appear, changes before they are measured.
import { expect, test } from "vitest";
import { checkJob, type Wire } from "../../../analysis/job/job.ts";
import { jobInRound, roundsOf } from "../../../analysis/job/round.ts";
import { changedJob } from "./orchard-sprayer.ts";

const job = checkJob(
  changedJob((job) => {
    Object.assign(job.loop[4]!, { ohms: 0.02, unknown: ["size", "length"] });
    job.recordings.push({ ...job.recordings[0]!, round: "third" });
    job.readings.push({ ...job.readings[0]!, round: "second" });
    job.rounds = [
      { round: "never measured", changed: [{ id: "feed", squareMillimetres: 6 }] },
      { round: "second", changed: [{ id: "battery-lug", style: "battery-post" }] },
      { round: "third", changed: [{ id: "feed", awg: 8, ohms: 0.011 }] },
    ];
  }),
).job;

const feed = (round: string) => jobInRound(job, round).loop[4] as Wire;

test("recordings first, then typed readings", () => {
  expect(roundsOf(job)).toEqual(["before", "third", "second"]);
});

test("the first round has the wiring as declared", () => {
  expect(jobInRound(job, "before")).toBe(job);
  expect(jobInRound(job, "no such round")).toBe(job);
});

test("a round has its own changes and those before it, and no later ones", () => {
  expect(feed("third")).toMatchObject({ awg: 8, ohms: 0.011 });
  expect(jobInRound(job, "third").loop[1]).toMatchObject({ style: "ring-lug" });
  expect(jobInRound(job, "second").loop[1]).toMatchObject({ style: "battery-post" });
});

test("what was changed but not measured stands before the round listed next", () => {
  expect(jobInRound(job, "second").loop[4]).toMatchObject({ squareMillimetres: 6 });
});

test("a new size takes the place of the old one, of the ohms written down for it, and of the guess", () => {
  const changed = feed("never measured");
  expect(changed).toMatchObject({ squareMillimetres: 6, unknown: ["length"] });
  expect(changed).not.toHaveProperty("awg");
  expect(changed).not.toHaveProperty("ohms");
});
