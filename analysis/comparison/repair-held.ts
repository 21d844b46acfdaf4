/**
 * Whether a repair held: the fault that was believed in is gone, and the set has the volts that mending it should give,
 * the battery and the other loads being as they are now.
 */
import type { Cause } from "../diagnosis.ts";
import { candidatesOf } from "../finding/candidate.ts";
import { type Fault, overLimitProbability } from "../inference/hypothesis.ts";
import type { Belief, Posterior } from "../inference/posterior.ts";
import { expectedTransmitAmps } from "../inference/transmit-amps.ts";
import { dropLimitVolts } from "../loop/expected-drop.ts";
import { soundBeforeUnread } from "./between-visits.ts";
import { type JointDraw, solvedKeyed } from "./joint-draw.ts";
import { sameFault } from "./same-thing.ts";

/** Volts that may be missing at the set against the forecast: what the trade allows one connection (`voltage-limits.md` section 1; common practice). */
const missingVolts = 0.1;
/** Between these, readings do not tell. */
const tells = { held: 0.6, failed: 0.4 } as const;
/** From this probability on, by both rounds together, there was something to mend. */
const wasWrong = 0.35;
/** Causes that are believed in so much of the surest one's share are no less sure; from memory. */
const aboutAsSure = 0.9;
/** Faults of the battery, and of its charging, that a mended one has none of. */
const sourceTroubles: readonly (readonly Cause[])[] = [
  ["low-charge", "weak-battery"],
  ["no-charging", "overcharging"],
];
/** Readings have told of a fault where they leave at most this share of the belief that nothing was wrong. */
const leftSound = 0.8;
/** … or where they have raised the odds of the cause by this factor. */
const raisedOdds = 2;

/**
 * @param changed parts that the job says were changed between the rounds, by index
 * @param draws of both rounds together
 * @returns false where the cause is there now or the volts have not come; null where nothing was found that could be
 * mended, or where either round's readings do not tell
 */
export function repairHeld(
  before: Posterior,
  after: Posterior,
  changed: ReadonlySet<number>,
  draws: readonly JointDraw[],
): boolean | null {
  const cause = causeToMend(before, draws);
  if (cause === null) return null;
  const held = cause === "undersized-run" ? heldRun(draws) : heldFault(draws, after, cause, changed);
  if (held === null || (held < tells.held && held > tells.failed)) return null;
  if (held <= tells.failed) return false;
  return toldOfFault(cause, before, soundBeforeUnread(before, after, changed), draws) ? true : null;
}

/**
 * Nobody calls before something is wrong, so that faults are believed in before any reading: one that was never read
 * has not been mended. The earlier readings tell of it by themselves, or by what they add to the later ones; that a run
 * is too light stands in the declaration.
 */
function toldOfFault(cause: Cause, { beliefs }: Posterior, soundUnread: number, draws: readonly JointDraw[]): boolean {
  if (cause === "undersized-run") return true;
  const none = beliefs.find(({ hypothesis }) => hypothesis.faults.length === 0)!;
  const sound = draws.filter(({ belief }) => belief.before.hypothesis.faults.length === 0).length / draws.length;
  const own = beliefs.filter(({ hypothesis }) => hypothesis.faults.some((fault) => fault.cause === cause));
  const odds = (of: (belief: Belief) => number) => {
    const share = own.reduce((sum, belief) => sum + of(belief), 0);
    return share / (1 - share);
  };
  return (
    none.probability < leftSound * none.priorProbability ||
    sound < leftSound * soundUnread ||
    odds(({ probability }) => probability) > raisedOdds * odds(({ priorProbability }) => priorProbability)
  );
}

/**
 * The likeliest cause of the earlier round, its places taken together: what the later round shows speaks of it too. Of
 * causes that are about as sure (a joint drops, and something in the run shifts), the one that was found first.
 */
function causeToMend(before: Posterior, draws: readonly JointDraw[]): Cause | null {
  const counts = new Map<Cause, number>();
  const add = (cause: Cause, count: number) => counts.set(cause, (counts.get(cause) ?? 0) + count);
  const overLimit = overLimitProbability(draws[0]!.before.model.setting.job);
  for (const { belief } of draws) {
    const { faults } = belief.before.hypothesis;
    for (const cause of new Set(faults.map((fault) => fault.cause))) add(cause, 1);
    if (faults.length === 0) add("undersized-run", overLimit);
  }
  const most = Math.max(...counts.values());
  if (most <= wasWrong * draws.length) return null;
  const found = candidatesOf(before).map(({ cause }) => cause);
  return found.find((cause) => (counts.get(cause) ?? 0) >= aboutAsSure * most) ?? null;
}

/** Of the draws in which the cause was there, the share in which it is gone and the volts have come. */
function heldFault(
  draws: readonly JointDraw[],
  after: Posterior,
  cause: Cause,
  changed: ReadonlySet<number>,
): number | null {
  const canShow = after.beliefs.some(({ hypothesis }) => hypothesis.faults.some((fault) => fault.cause === cause));
  if (!canShow) return null;
  const faulty = draws.filter(({ belief }) => belief.before.hypothesis.faults.some((fault) => fault.cause === cause));
  if (faulty.length === 0) return null;
  const held = faulty.filter((draw) => {
    const own = draw.belief.before.hypothesis.faults.filter((fault) => fault.cause === cause);
    const still = draw.belief.after.hypothesis.faults.some((fault) => own.some((one) => sameTrouble(one, fault)));
    return !still && shortVolts(draw, cause, changed) < missingVolts;
  });
  return held.length / faulty.length;
}

/** What was wrong with the battery, or with its charging, has not given the volts while the same thing has another fault. */
const sameTrouble = (was: Fault, is: Fault): boolean =>
  sameFault(was, is) || sourceTroubles.some((causes) => causes.includes(was.cause) && causes.includes(is.cause));

/**
 * Volts that the loop costs now beyond what it would with the cause mended and everything else as it was. What was mended
 * is measured against a sound one of its kind, an intermittent contact against what it was while it held.
 */
function shortVolts({ belief, before, after }: JointDraw, cause: Cause, changed: ReadonlySet<number>): number {
  const { partAmps } = solvedKeyed(after, "off");
  const { isWire } = before.model.setting;
  const mended = belief.before.hypothesis.faults.filter((fault) => fault.cause === cause);
  const wanted = (part: number): number => {
    // A part's unknown is what it has without its fault.
    if (changed.has(part)) return after.values[part]!;
    const hasCause = mended.some((fault) => fault.part === part || (isWire[part] && fault.part < 0));
    if (!hasCause) return before.ohms[part]!;
    return cause === "intermittent-connection" || !belief.renewed.has(part)
      ? before.values[part]!
      : after.values[part]!;
  };
  return after.ohms.reduce((sum, ohms, part) => sum + (ohms - wanted(part)) * partAmps[part]!, 0);
}

/** A run that was too light is mended where its drop at the declared current is within the limit now. */
function heldRun(draws: readonly JointDraw[]): number {
  const { job } = draws[0]!.after.model.setting;
  const limitOhms = dropLimitVolts(job) / expectedTransmitAmps(job);
  return (
    draws.filter(({ after }) => after.ohms.reduce((sum, ohms) => sum + ohms, 0) <= limitOhms).length / draws.length
  );
}
