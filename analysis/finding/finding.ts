/**
 * Findings put into words: the sentence, the volts, the evidence, the repair and what it should restore.
 */
import type { Cause, Finding } from "../diagnosis.ts";
import type { Part } from "../job/job.ts";
import { partsOf } from "../job/route.ts";
import { plainVolts } from "../round-for-print.ts";
import type { Candidate } from "./candidate.ts";
import { evidenceFor } from "./evidence.ts";
import { type DrawnBelief, keyedCondition } from "./figures.ts";
import { loadVoltsAfterRepair } from "./forecast.ts";
import { list, partWords } from "./place-words.ts";
import { repairFor } from "./repair.ts";

const mostFindings = 8;
/** Less likely than this, a finding helps nobody; the first is always given. */
const leastProbability = 0.01;

export function findingsOf(drawn: DrawnBelief, candidates: readonly Candidate[]): Finding[] {
  return candidates
    .filter(({ probability }, index) => index === 0 || probability >= leastProbability)
    .slice(0, mostFindings)
    .map((candidate) => findingOf(drawn, candidate));
}

function findingOf(drawn: DrawnBelief, candidate: Candidate): Finding {
  const { job } = drawn.posterior.setting;
  const parts = candidate.parts.map((index) => partsOf(job)[index]!);
  const dropVolts = lostVolts(drawn, candidate);
  return {
    cause: candidate.cause,
    parts: parts.map(({ id }) => id),
    probability: Math.min(candidate.probability, 1),
    dropVolts,
    summary: summaryOf(candidate.cause, parts, dropVolts),
    evidence: evidenceFor(drawn, candidate),
    repair: repairFor(job, candidate.cause, parts),
    afterRepair: { loadVolts: loadVoltsAfterRepair(drawn, candidate) },
  };
}

/** Volts at transmit in the part at fault, in the wires, or in the battery's own resistance; null where the cause costs none. */
function lostVolts(drawn: DrawnBelief, { cause, beliefs, parts, matches }: Candidate): number | null {
  const condition = keyedCondition(drawn);
  const draws = drawn.after.filter((draw) => beliefs.includes(draw.belief));
  if (draws.length === 0) return null;
  const mean = (figure: (draw: (typeof draws)[number]) => number) =>
    draws.reduce((sum, draw) => sum + figure(draw), 0) / draws.length;
  switch (cause) {
    case "high-resistance-connection":
      return mean((draw) => {
        const fault = draw.belief.hypothesis.faults.find(matches)!;
        return drawn.solved(draw, condition).partDropVolts[fault.part]!;
      });
    case "intermittent-connection": {
      // A shift that no reading caught has no volts to speak of; one that opened takes what the battery has.
      const shifted = drawn.posterior.setting.conditions.find((one) => one.disturbed && one.radio === "transmit");
      if (shifted === undefined) return null;
      return mean((draw) => {
        const fault = draw.belief.hypothesis.faults.find(matches)!;
        return drawn.solved(draw, shifted).partDropVolts[fault.part]!;
      });
    }
    case "conductor-not-as-declared":
    case "undersized-run":
      return mean((draw) => parts.reduce((sum, part) => sum + drawn.solved(draw, condition).partDropVolts[part]!, 0));
    case "weak-battery":
      return mean((draw) => drawn.solved(draw, condition).amps * drawn.solved(draw, condition).sourceOhms);
    default:
      return null;
  }
}

function summaryOf(cause: Cause, parts: readonly Part[], dropVolts: number | null): string {
  const names = list(parts.map(partWords));
  const volts = dropVolts === null ? "" : plainVolts(dropVolts);
  switch (cause) {
    case "high-resistance-connection":
      return parts.length === 1
        ? `A bad joint at ${names} eats ${volts} when the set is keyed.`
        : `A bad joint eats ${volts} when the set is keyed: one of ${names}; the readings cannot tell which.`;
    case "intermittent-connection":
      return `The contact at ${names} opens or shifts while the set is keyed${dropVolts === null ? "" : ` and then costs about ${volts}`}.`;
    case "undersized-run":
      return `Wire too light for the run: every part is as good as it should be, and the wires alone drop ${volts} keyed.`;
    case "conductor-not-as-declared":
      return `The wire is thinner, longer or poorer than written down: the wires together drop ${volts} keyed.`;
    case "weak-battery":
      return `The battery gives way under load: its own resistance costs ${volts} when the set is keyed.`;
    case "low-charge":
      return "The battery is half discharged or worse.";
    case "no-charging":
      return "The charging system does not charge with the engine running.";
    case "overcharging":
      return "The charging volts are above what a 12 V system may reach.";
    case "excess-load-current":
      return "The set draws clearly more current than its data plate says.";
    case "stray-return":
      return "Less current comes back through the ground side than went out: the rest returns another way.";
    case "supply-sound":
      return "Feed good: nothing in it is worse than a sound one of its kind; look elsewhere.";
  }
}
