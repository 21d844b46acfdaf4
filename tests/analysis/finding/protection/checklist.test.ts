/**
 * The mechanical checklist: what a full verification asks (issue list: before power, and the finished install), and
 * which answers hold in a round.
 */
import { describe, expect, it } from "vitest";
import { answersIn, mechanicalChecklist } from "../../../../analysis/finding/protection/checklist.ts";
import { checkProtection } from "../../../../analysis/finding/protection.ts";
import type { Job } from "../../../../analysis/job/job.ts";
import { declaredJob } from "../../../fixtures/declared-job.ts";

describe("the questions", () => {
  it.each([
    ["fuse-out", /fuse out/],
    ["polarity", /polarity/],
    ["no-short", /no short/],
    ["drain", /set off after the vehicle had gone to sleep/],
  ])("before power: %s", (id, words) => {
    expect(mechanicalChecklist.find((question) => question.id === id)).toMatchObject({
      when: "before power",
      words: expect.stringMatching(words),
    });
  });

  it.each([
    ["grommets", /grommet in every feed-through/],
    ["strain-relief", /strain relief/],
    ["lock-washers", /none lies between a lug and bare metal/],
    ["fuse-at-source", /fuse at the source/],
    ["sealed-joints", /sealed/],
    ["clear-of-heat", /heat/],
    ["clear-of-edges", /edges/],
    ["clear-of-restraints", /airbag and belt/],
    ["clear-of-controls", /pedals, steering/],
    ["long-transmission", /long transmission/],
    ["start-with-set-on", /engine started with the set on/],
  ])("of the finished install: %s", (id, words) => {
    expect(mechanicalChecklist.find((question) => question.id === id)).toMatchObject({
      when: "finished",
      words: expect.stringMatching(words),
    });
  });

  it("come in the order of the work, each once", () => {
    const ids = mechanicalChecklist.map(({ id }) => id);
    expect(new Set(ids).size).toBe(ids.length);
    expect(mechanicalChecklist.map(({ when }) => when).toSorted()).toEqual(mechanicalChecklist.map(({ when }) => when));
  });
});

describe("the answers", () => {
  const reading = (round: string) => ({ round, from: "load+", to: "load-", radio: "idle" as const, volts: 12.5 });
  const job: Job = declaredJob({
    readings: [reading("before"), reading("after")],
    rounds: [
      { round: "before", checks: { grommets: true, "sealed-joints": false, "start-with-set-on": true } },
      { round: "after", checks: { "clear-of-heat": false, "own question": true } },
    ],
  });
  const given = (of: Job, round: string) =>
    checkProtection(of, null, round)
      .filter(({ source }) => source.startsWith("checklist"))
      .map(({ check, pass }) => [check, pass]);

  it("are the round's own and those of earlier rounds, unknown questions too", () => {
    expect(given(job, "after")).toEqual([
      ["grommets", true],
      ["sealed-joints", false],
      ["start-with-set-on", null],
      ["clear-of-heat", false],
      ["own question", true],
    ]);
    expect(checkProtection(job, null).some(({ source }) => source.startsWith("checklist"))).toBe(false);
  });

  it("of an earlier round stand until they are answered anew", () => {
    const sealed = { ...job, rounds: [...job.rounds, { round: "after", checks: { "sealed-joints": true } }] };
    expect(answersIn(sealed, "after").get("sealed-joints")).toMatchObject({ answer: true, holds: true });
    expect(answersIn(sealed, "before").get("sealed-joints")).toMatchObject({ answer: false, holds: true });
  });

  it.each(["fuse-out", "polarity", "no-short", "drain", "long-transmission", "start-with-set-on"])(
    "to %s hold for the wiring that was tested alone",
    (id) => {
      const tested = { ...job, rounds: [{ round: "before", checks: { [id]: true } }, { round: "after" }] };
      expect(given(tested, "before")).toEqual([[id, true]]);
      expect(given(tested, "after")).toEqual([[id, null]]);
      expect(answersIn(tested, "after").get(id)).toEqual({ answer: true, round: "before", holds: false });
      const again = { ...tested, rounds: [tested.rounds[0]!, { round: "after", checks: { [id]: false } }] };
      expect(given(again, "after")).toEqual([[id, false]]);
    },
  );

  it("of a round that the job does not know are none", () => {
    expect(answersIn(job, "tomorrow").size).toBe(0);
  });
});
