/**
 * A candidate: a cause with its place as the readings can tell it, before it is put into words.
 */
import type { Cause } from "../diagnosis.ts";
import { type Fault, overLimitProbability } from "../inference/hypothesis.ts";
import type { Belief, Posterior } from "../inference/posterior.ts";
import { expectedTransmitAmps } from "../inference/transmit-amps.ts";
import { groupJoints } from "./same-joint.ts";

export interface Candidate {
  readonly cause: Cause;
  /** indices among the parts of the loop */
  readonly parts: readonly number[];
  readonly probability: number;
  /** the beliefs that contain it */
  readonly beliefs: readonly Belief[];
  /** whether a fault of a belief is this one */
  matches(fault: Fault): boolean;
}

const jointCauses = ["high-resistance-connection", "intermittent-connection"] as const;
const placelessCauses = [
  "conductor-not-as-declared",
  "weak-battery",
  "low-charge",
  "no-charging",
  "overcharging",
  "excess-load-current",
  "stray-return",
] as const;

/** Every candidate that is believed at all, most probable first. */
export function candidatesOf(posterior: Posterior): Candidate[] {
  return [
    ...jointCauses.flatMap((cause) => jointCandidates(posterior, cause)),
    ...placelessCauses.map((cause) =>
      candidate(posterior, cause, partsOfCause(posterior, cause), (fault) => fault.cause === cause),
    ),
    ...soundCandidates(posterior),
  ]
    .filter(({ probability }) => probability > 0)
    .sort((a, b) => b.probability - a.probability);
}

function candidate(
  posterior: Posterior,
  cause: Cause,
  parts: readonly number[],
  matches: (fault: Fault) => boolean,
): Candidate {
  const beliefs = posterior.beliefs.filter(({ hypothesis }) => hypothesis.faults.some(matches));
  return { cause, parts, matches, beliefs, probability: sum(beliefs) };
}

const sum = (beliefs: readonly Belief[]): number => beliefs.reduce((total, { probability }) => total + probability, 0);

function jointCandidates(posterior: Posterior, cause: (typeof jointCauses)[number]): Candidate[] {
  const { setting, beliefs } = posterior;
  const isAt = (part: number) => (fault: Fault) => fault.cause === cause && fault.part === part;
  const weight = (part: number) => sum(beliefs.filter(({ hypothesis }) => hypothesis.faults.some(isAt(part))));
  const joints = new Set(
    beliefs.flatMap(({ hypothesis }) =>
      hypothesis.faults.filter((fault) => fault.cause === cause).map(({ part }) => part),
    ),
  );
  const ranked = [...joints].toSorted((a, b) => weight(b) - weight(a));
  if (ranked.length === 0) return [];
  return groupJoints(setting, ranked, lostVolts(posterior, cause, ranked[0]!), cause === "intermittent-connection").map(
    (group) =>
      candidate(
        posterior,
        cause,
        group.toSorted((a, b) => a - b),
        (fault) => fault.cause === cause && group.includes(fault.part),
      ),
  );
}

/** What the likeliest belief in a fault of that cause at that joint takes it to lose at transmit. */
function lostVolts({ beliefs, setting }: Posterior, cause: Cause, joint: number): number {
  const belief = beliefs.find(({ hypothesis }) =>
    hypothesis.faults.some((fault) => fault.cause === cause && fault.part === joint),
  );
  if (belief === undefined) return 0;
  const { model, fit } = belief;
  const values = model.decode(fit.optimum);
  const excessOhms = model.partOhms(values, true)[joint]! - values[joint]!;
  return excessOhms * expectedTransmitAmps(setting.job);
}

function partsOfCause({ setting }: Posterior, cause: Cause): readonly number[] {
  if (cause === "conductor-not-as-declared") return wires(setting.isWire);
  return cause === "stray-return" ? setting.strayParts : [];
}

const wires = (isWire: readonly boolean[]): number[] => isWire.flatMap((is, index) => (is ? [index] : []));

/** Nothing worse than declared: the feed is good, or the declared run itself is too light. */
function soundCandidates({ setting, beliefs }: Posterior): Candidate[] {
  const sound = beliefs.filter(({ hypothesis }) => hypothesis.faults.length === 0);
  const overLimit = overLimitProbability(setting.job);
  const of = (cause: Cause, parts: readonly number[], part: number): Candidate => ({
    cause,
    parts,
    beliefs: sound,
    probability: sum(sound) * part,
    matches: () => false,
  });
  return [of("supply-sound", [], 1 - overLimit), of("undersized-run", wires(setting.isWire), overLimit)];
}
