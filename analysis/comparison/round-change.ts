/**
 * Round against round: what each part's ohms did, what the load gained, and whether the repair held.
 * Goes in: two rounds with their belief. Comes out: the comparison of `formats.md`.
 */
import { sampleStandardDeviation } from "simple-statistics";
import type { Comparison, Q, RoundDiagnosis } from "../diagnosis.ts";
import { type DrawnBelief, summary } from "../finding/figures.ts";
import type { EngineState, Job } from "../job/job.ts";
import { partsChanged } from "../job/round.ts";
import { partsOf, routeBetween } from "../job/route.ts";
import { quantity, type UncertainQuantity } from "../uncertain.ts";
import { believeBoth } from "./joint-belief.ts";
import { drawBoth, type JointDraw, solvedKeyed } from "./joint-draw.ts";
import { newTrouble } from "./new-trouble.ts";
import { partChanges } from "./part-change.ts";
import { repairHeld } from "./repair-held.ts";

export interface RoundBelief {
  readonly diagnosis: RoundDiagnosis;
  readonly drawn: DrawnBelief;
}

export interface RoundChange {
  readonly comparison: Comparison;
  /** what has come up since the earlier round, a sentence each */
  readonly newTrouble: readonly string[];
}

/** @param declared the job as first declared: it says what was changed between the rounds */
export function compareRounds(declared: Job, before: RoundBelief, after: RoundBelief): RoundChange {
  const [was, is] = [before.drawn.posterior, after.drawn.posterior];
  const [from, to] = [before.diagnosis.round, after.diagnosis.round];
  const changed = indicesOf(declared, partsChanged(declared, from, to));
  const draws = drawBoth(believeBoth(was, is, changed));
  return {
    comparison: {
      from,
      to,
      loadVoltsGained: loadVoltsGained(before, after, draws),
      parts: partChanges(before.diagnosis.parts, after.diagnosis.parts, draws),
      repairHeld: repairHeld(was, is, changed, draws),
    },
    newTrouble: newTrouble(from, is, draws),
  };
}

const indicesOf = (job: Job, ids: readonly string[]): ReadonlySet<number> =>
  new Set(partsOf(job).flatMap(({ id }, index) => (ids.includes(id) ? [index] : [])));

/** Keyed, in a state that was measured in both rounds, engine off where there is a choice; as the battery was each time. */
function loadVoltsGained(before: RoundBelief, after: RoundBelief, draws: readonly JointDraw[]): Q {
  const isRead = ({ diagnosis }: RoundBelief, engine: EngineState) =>
    diagnosis.states.some((state) => state.engine === engine && state.radio === "transmit" && state.loadVolts !== null);
  const engine = (["off", "running"] as const).find((one) => isRead(before, one) && isRead(after, one));
  if (engine === undefined) return null;
  const gained = draws.map(
    (draw) => solvedKeyed(draw.after, engine).loadVolts - solvedKeyed(draw.before, engine).loadVolts,
  );
  return widened(summary(gained), Math.hypot(keyingDoubt(before, engine), keyingDoubt(after, engine)));
}

/**
 * Doubt in a round's keyed level as one of the battery's: it sags and recovers from keying to keying, which leaves the
 * drops of that round alone (so the readings hardly count it) and differs from visit to visit.
 * @returns volts: standard error of the mean over the steady keyed stretches of the log in which they differ most
 */
function keyingDoubt({ diagnosis, drawn }: RoundBelief, engine: EngineState): number {
  const { job } = drawn.posterior.setting;
  const recordings = job.recordings.filter(({ round }) => round === diagnosis.round);
  const doubts = diagnosis.recordings.map(({ plateaus }, index) => {
    const { from, to } = recordings[index]!;
    if (from === undefined || to === undefined || !routeBetween(job, from, to).throughLoad) return 0;
    const levels = plateaus
      .filter((one) => one.engine === engine && one.radio === "transmit")
      .map(({ value }) => value);
    return levels.length < 2 ? 0 : sampleStandardDeviation(levels) / Math.sqrt(levels.length);
  });
  return Math.max(0, ...doubts);
}

/** The same figure with a further doubt that is independent of it. */
function widened({ value, low, high, uncertainty }: UncertainQuantity, doubt: number): UncertainQuantity {
  const { low: beside } = quantity(0, doubt);
  return {
    value,
    low: value - Math.hypot(value - low, beside),
    high: value + Math.hypot(high - value, beside),
    uncertainty: Math.hypot(uncertainty, doubt),
  };
}
