/**
 * The edges by which two logs of one event are laid over each other: keyed, released, engine start, and other clear steps.
 */
import type { Seconds } from "../units.ts";
import type { Judgement } from "./judgement.ts";
import type { PreparedLog } from "./stretch.ts";

export interface ClockEdge {
  /** on the log's own clock */
  readonly seconds: Seconds;
  /** one standard deviation: the step came at any moment between two samples, each up to a stamp's step off */
  readonly uncertainty: Seconds;
  /** 1 where the log moves as when keyed, −1 the other way; 2 for an engine start */
  readonly kind: number;
  /** the set was keyed or released */
  readonly keying: boolean;
  /** volts gained at battery or load by a step that is no keying; charging that begins or ends moves both alike */
  readonly supplyStep: number | null;
}

/** Steps below this share of the keyed step, or so few uncertainties high, are not matched. */
const clearShare = 0.25;
const clearNoise = 4;
const mostEdges = 300;

/**
 * Edges of one log, in order of time, from its own judgement.
 * @param pulsed current follows the voice: what steps within a transmission is no edge
 */
export function edgeTrain(log: PreparedLog, judged: Judgement, pulsed: boolean): ClockEdge[] {
  const steps = judged.stretches.slice(1).map((stretch, i) => {
    const k = i + 1;
    const change = (stretch.looks[0]!.level - judged.stretches[k - 1]!.looks[0]!.level) * log.movement.direction;
    const started = judged.cranks.some((crank) => crank.last === k - 1);
    const keying = (judged.radio[k] === "transmit") !== (judged.radio[k - 1] === "transmit");
    const within = judged.radio[k] === "transmit" && judged.radio[k - 1] === "transmit";
    const noise = Math.hypot(stretch.looks[0]!.uncertainty, judged.stretches[k - 1]!.looks[0]!.uncertainty);
    return { index: stretch.looks[0]!.from, change, started, keying, within, noise };
  });
  const sizes = steps.filter((step) => step.keying).map((step) => Math.abs(step.change));
  const usual = sizes.length > 0 ? sizes.reduce((least, size) => Math.min(least, size)) : 0;
  const clear = steps.filter(
    ({ started, keying, within, change, noise }) =>
      started ||
      (!(pulsed && within) &&
        Math.abs(change) >= Math.max(pulsed && keying ? 0 : clearShare * usual, clearNoise * noise)),
  );
  const passesLoad = log.movement.sight === "load" || log.movement.sight === "battery";
  return clear.slice(0, mostEdges).map((step) => ({
    ...edgeMoment(log, step.index),
    kind: step.started ? 2 : Math.sign(step.change),
    keying: step.keying,
    supplyStep: passesLoad && !step.within && (!step.keying || step.started) ? -step.change : null,
  }));
}

/** When the step came by the log's own clock; its stamps may be off as well. */
function edgeMoment(log: PreparedLog, index: number): Pick<ClockEdge, "seconds" | "uncertainty"> {
  const { seconds, uncertainty } = log.edgeMoment(index);
  return { seconds, uncertainty: Math.hypot(uncertainty, log.moments.uncertainty) };
}
