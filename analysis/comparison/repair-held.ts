/**
 * Whether a repair held: the fault that was believed in is gone, and the set has the volts that mending it should give,
 * the battery and the other loads being as they are now.
 */
import type { Cause } from "../diagnosis.ts";
import { overLimitProbability } from "../inference/hypothesis.ts";
import type { Posterior } from "../inference/posterior.ts";
import { expectedTransmitAmps } from "../inference/transmit-amps.ts";
import { dropLimitVolts } from "../loop/expected-drop.ts";
import { type JointDraw, type RoundDraw, solvedKeyed } from "./joint-draw.ts";
import { sameFault } from "./same-thing.ts";

/** Volts that may be missing at the set against the forecast: what the trade allows one connection (`voltage-limits.md` section 1; common practice). */
const missingVolts = 0.1;
/** Between these, readings do not tell. */
const tells = { held: 0.7, failed: 0.3 } as const;

/**
 * @param draws of both rounds together
 * @returns null where nothing was found that could be mended, or where the later readings do not tell
 */
export function repairHeld(before: Posterior, after: Posterior, draws: readonly JointDraw[]): boolean | null {
  const cause = causeToMend(before);
  if (cause === null) return null;
  const held = cause === "undersized-run" ? heldRun(draws) : heldFault(draws, after, cause);
  if (held === null || (held < tells.held && held > tells.failed)) return null;
  return held >= tells.held;
}

/** The cause that is likelier than not, its places taken together; null where nothing is wrong or nothing is decided. */
function causeToMend({ setting, beliefs }: Posterior): Cause | null {
  const totals = new Map<Cause, number>();
  const add = (cause: Cause, probability: number) => totals.set(cause, (totals.get(cause) ?? 0) + probability);
  for (const { hypothesis, probability } of beliefs) {
    for (const cause of new Set(hypothesis.faults.map((fault) => fault.cause))) add(cause, probability);
    if (hypothesis.faults.length === 0) add("undersized-run", probability * overLimitProbability(setting.job));
  }
  const [best] = [...totals].toSorted(([, a], [, b]) => b - a);
  return best !== undefined && best[1] > 0.5 ? best[0] : null;
}

/** Of the draws in which the cause was there, the share in which it is gone and the volts have come. */
function heldFault(draws: readonly JointDraw[], after: Posterior, cause: Cause): number | null {
  const canShow = after.beliefs.some(({ hypothesis }) => hypothesis.faults.some((fault) => fault.cause === cause));
  if (!canShow) return null;
  const faulty = draws.filter(({ belief }) => belief.before.hypothesis.faults.some((fault) => fault.cause === cause));
  if (faulty.length === 0) return null;
  const held = faulty.filter((draw) => {
    const own = draw.belief.before.hypothesis.faults.filter((fault) => fault.cause === cause);
    const still = draw.belief.after.hypothesis.faults.some((fault) => own.some((one) => sameFault(one, fault)));
    return !still && shortVolts(draw) < missingVolts;
  });
  return held.length / faulty.length;
}

/**
 * Volts that the loop costs now beyond what it would with the faults of the earlier round mended. A renewed part is
 * measured against a sound one; every other against what it was.
 */
export function shortVolts({ belief, before, after }: JointDraw): number {
  const { partAmps } = solvedKeyed(after, "off");
  return after.ohms.reduce((sum, ohms, part) => {
    const own = belief.renewed.has(part) ? after : before;
    return sum + (ohms - soundOhms(own, part)) * partAmps[part]!;
  }, 0);
}

/** A part's unknown is what it has without its fault. */
const soundOhms = ({ values }: RoundDraw, part: number): number => values[part]!;

/** A run that was too light is mended where its drop at the declared current is within the limit now. */
function heldRun(draws: readonly JointDraw[]): number {
  const { job } = draws[0]!.after.model.setting;
  const limitOhms = dropLimitVolts(job) / expectedTransmitAmps(job);
  return (
    draws.filter(({ after }) => after.ohms.reduce((sum, ohms) => sum + ohms, 0) <= limitOhms).length / draws.length
  );
}
