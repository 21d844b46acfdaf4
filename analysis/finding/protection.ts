/**
 * Protection checks on an install: does the fuse protect the wiring, and does a short at the load open it in time.
 * Goes in: the declared job and what is known of the battery. Comes out: one line a check, each with its figure, its
 * limit and its source. Figures from memory say so and only warn. Local codes and licensed practice come first.
 */
import type { ProtectionCheck, Q } from "../diagnosis.ts";
import type { Job } from "../job/job.ts";
import { checklistAnswers } from "./protection/checklist.ts";
import { fuseLoadChecks } from "./protection/fuse-load.ts";
import { fusePlaceChecks } from "./protection/fuse-place.ts";
import { isoAmpacityChecks } from "./protection/iso-ampacity.ts";
import { leastSizeChecks } from "./protection/least-size.ts";
import { loadAmps } from "./protection/load-amps.ts";
import { localRulesCheck } from "./protection/local-rules.ts";
import { returnPathChecks } from "./protection/return-path.ts";
import { type MeasuredSource, shortCircuitChecks } from "./protection/short-circuit.ts";
import { standingDrainChecks } from "./protection/standing-drain.ts";
import { wireLoadChecks } from "./protection/wire-load.ts";

export { answersIn, mechanicalChecklist } from "./protection/checklist.ts";
export { keyedAmpsRead } from "./protection/load-amps.ts";
export { measuredReturnChecks } from "./protection/return-path.ts";
export { supplyRangeChecks } from "./protection/supply-range.ts";

/**
 * Every check that the declaration can answer.
 * `pass` is true where the rule is kept for sure, false where a published rule is broken for sure, null where it
 * cannot be told or where a figure from memory warns.
 * @param job as it stands in the round (changed parts put in)
 * @param source the battery as measured; null where it was not
 * @param round label of the round whose checklist answers are taken in; none if left out
 * @param keyedAmps what the load was read to draw keyed; null where it was not
 */
export function checkProtection(
  job: Job,
  source: MeasuredSource | null,
  round?: string,
  keyedAmps: Q = null,
): ProtectionCheck[] {
  const load = loadAmps(job, keyedAmps);
  return [
    ...fusePlaceChecks(job),
    ...fuseLoadChecks(job, load),
    ...wireLoadChecks(job, load),
    ...isoAmpacityChecks(job),
    ...leastSizeChecks(job),
    ...shortCircuitChecks(job, source),
    ...returnPathChecks(job),
    ...standingDrainChecks(job),
    ...localRulesCheck(job),
    ...(round === undefined ? [] : checklistAnswers(job, round)),
  ];
}
