/**
 * The mechanical checklist of a finished install, answered by the person; the answers stand in a round's `checks`.
 */
import type { Job } from "../../job/job.ts";
import { roundsUpTo } from "../../job/round.ts";
import type { ProtectionCheck } from "./check.ts";

export interface ChecklistQuestion {
  /** key in the round's `checks` */
  readonly id: string;
  /** what is right, in the trade's words */
  readonly words: string;
  readonly when: "before power" | "finished";
}

export const mechanicalChecklist: readonly ChecklistQuestion[] = [
  { id: "fuse-out", words: "fuse out while the leads were connected", when: "before power" },
  { id: "polarity", words: "polarity measured at the set's plug before it was plugged in", when: "before power" },
  { id: "no-short", words: "no short from the feed to ground", when: "before power" },
  { id: "drain", words: "drain measured with the set off after the vehicle had gone to sleep", when: "before power" },
  { id: "grommets", words: "a grommet in every feed-through", when: "finished" },
  { id: "strain-relief", words: "strain relief at both ends, loops hang free of the terminals", when: "finished" },
  { id: "lock-washers", words: "lock washers bite, and none lies between a lug and bare metal", when: "finished" },
  { id: "fuse-at-source", words: "fuse at the source, its holder dry and within reach", when: "finished" },
  { id: "sealed-joints", words: "joints sealed against water, ground points cleaned and coated", when: "finished" },
  { id: "clear-of-heat", words: "cable clear of exhaust and other heat", when: "finished" },
  { id: "clear-of-edges", words: "cable clear of sharp edges and moving parts", when: "finished" },
  { id: "clear-of-restraints", words: "cable clear of airbag and belt wiring", when: "finished" },
  { id: "clear-of-controls", words: "cable clear of pedals, steering and linkages", when: "finished" },
  { id: "long-transmission", words: "one long transmission made: no joint is warm to the hand", when: "finished" },
  { id: "start-with-set-on", words: "engine started with the set on, and it stayed on", when: "finished" },
];

/**
 * What is tested holds for the wiring as it then was, and a round is all that was measured with one wiring: answered in
 * one round, a test says nothing of a later one. What is looked at (grommets, cable runs) stands until it is looked at anew.
 */
const isTest = ({ id, when }: ChecklistQuestion): boolean =>
  when === "before power" || id === "long-transmission" || id === "start-with-set-on";
const tests = new Set(mechanicalChecklist.filter(isTest).map(({ id }) => id));

export interface ChecklistAnswer {
  readonly answer: boolean;
  /** label of the round that it was given in */
  readonly round: string;
  /** false: a test of an earlier round, which the wiring has left behind */
  readonly holds: boolean;
}

/**
 * The last answer to each question as a round has it: its own, and those of earlier rounds.
 * @param round its label; a round that is not described has the answers of those before it, an unknown one none
 */
export function answersIn(job: Job, round: string): Map<string, ChecklistAnswer> {
  const answers = new Map<string, ChecklistAnswer>();
  for (const name of roundsUpTo(job, round)) {
    for (const described of job.rounds.filter((entry) => entry.round === name)) {
      for (const [id, answer] of Object.entries(described.checks ?? {}))
        answers.set(id, { answer, round: name, holds: name === round || !tests.has(id) });
    }
  }
  return answers;
}

/** The answers in a round, as checks; answers under names that are not listed are passed on as they stand. */
export function checklistAnswers(job: Job, round: string): ProtectionCheck[] {
  return [...answersIn(job, round)].map(([id, { answer, round: given, holds }]) => {
    const words = mechanicalChecklist.find((question) => question.id === id)?.words;
    const then = `answered ${answer ? "yes" : "no"}`;
    return {
      part: "",
      check: id,
      pass: holds ? answer : null,
      detail: holds ? (words ?? then) : `${words}: ${then} in '${given}'; the wiring is another since: test it again`,
      source: "checklist, answered by the technician",
    };
  });
}
