/**
 * What happens to a vehicle between two visits, before anything is measured: faults are mended or stay, now and then a
 * new one comes up, a joint is remade, the set is turned to another power. All shares are from memory.
 */
import type { Cause } from "../diagnosis.ts";
import type { Fault, Hypothesis } from "../inference/hypothesis.ts";
import type { Posterior } from "../inference/posterior.ts";
import { sameFault } from "./same-thing.ts";

interface Fate {
  /** of the faults of this cause, those that are mended when the vehicle is measured again */
  readonly mended: number;
  /** of those that are not, the share that has grown or was half mended */
  readonly otherSize: number;
  /** against how often the cause is met at all, how often it comes up between the visits */
  readonly fresh: number;
}
const usualFate: Fate = { mended: 0.5, otherSize: 0.25, fresh: 0.1 };
/** Wire grows no thinner by itself, and whoever lays new wire mostly says so. */
const wireFate: Fate = { mended: 0.25, otherSize: 0.02, fresh: 0.005 };
const fateOf = (cause: Cause): Fate => (cause === "conductor-not-as-declared" ? wireFate : usualFate);
/** Of the faults of a part that is said to have been exchanged, those that are gone with it. */
const goneWithPart = 0.9;

/** Parts that are not at fault and not said to be changed: remade or worked loose all the same, a wire rarely. */
export const touchedShare = { joint: 0.01, other: 0.002 } as const;
/** Visits between which the set was turned to another power or changed for another. */
export const otherSetShare = 0.05;

/** Probability that faults which stayed are not as large as they were. */
export const otherSizeShare = (kept: readonly Fault[]): number =>
  Math.max(...kept.map(({ cause }) => fateOf(cause).otherSize));

/**
 * Probability that one hypothesis is followed by another of the later round.
 * @param changed parts that the job says were changed between the rounds, by index
 */
export function transitionTo(
  after: Posterior,
  changed: ReadonlySet<number>,
): (was: Hypothesis, is: Hypothesis) => number {
  const weights = faultWeights(after);
  const has = ({ faults }: Hypothesis, fault: Fault) => faults.some((one) => sameFault(one, fault));
  return (was, is) => {
    let probability = 1;
    for (const fault of was.faults) {
      // A cause that the later round's readings cannot show is neither mended nor kept as far as they go.
      if (!weights.has(keyOf(fault))) continue;
      const mended = wasExchanged(fault, after, changed) ? goneWithPart : fateOf(fault.cause).mended;
      probability *= has(is, fault) ? 1 - mended : mended;
    }
    const fresh = is.faults.filter((fault) => !has(was, fault));
    if (fresh.length === 0) return probability * (1 - usualFate.fresh);
    return fresh.reduce(
      (product, fault) => product * fateOf(fault.cause).fresh * (weights.get(keyOf(fault)) ?? 0),
      probability,
    );
  };
}

const keyOf = ({ cause, part }: { cause: string; part: number }) => `${cause} ${part}`;

/** How often each single fault is the new one, before measuring. */
function faultWeights({ beliefs }: Posterior): Map<string, number> {
  const singles = beliefs.filter(({ hypothesis }) => hypothesis.faults.length === 1);
  const total = singles.reduce((sum, { priorProbability }) => sum + priorProbability, 0);
  return new Map(
    singles.map(({ hypothesis, priorProbability }) => [keyOf(hypothesis.faults[0]!), priorProbability / total]),
  );
}

/** Whether the fault's own part, or any of the wires that it is about, is said to have been exchanged. */
function wasExchanged({ cause, part }: Fault, { setting }: Posterior, changed: ReadonlySet<number>): boolean {
  if (cause === "conductor-not-as-declared") return [...changed].some((index) => setting.isWire[index]);
  return changed.has(part);
}

/**
 * Probability that nothing was wrong in the earlier round, as far as the later one and what usually happens between
 * visits tell: what the earlier round's own readings have to add to.
 */
export function soundBeforeUnread(before: Posterior, after: Posterior, changed: ReadonlySet<number>): number {
  const transition = transitionTo(after, changed);
  let [sound, total] = [0, 0];
  for (const was of before.beliefs) {
    for (const is of after.beliefs) {
      const ofBoth = was.priorProbability * transition(was.hypothesis, is.hypothesis);
      const weight = (ofBoth * is.probability) / is.priorProbability;
      total += weight;
      if (was.hypothesis.faults.length === 0) sound += weight;
    }
  }
  return sound / total;
}
