/**
 * What one way of diagnosing made of one drawn job, as far as it is judged: right or not, how sure, which intervals held.
 */
import type { RoundDiagnosis } from "../../../analysis/index.ts";
import type { TrueRound } from "../../fixtures/recipe/truth.ts";
import { addCoverage, type Coverage, emptyCoverage } from "./coverage.ts";
import { isExact, isWithin, type Judgement, judge, type NamedCause } from "./judge.ts";
import type { Forecast } from "./scores.ts";

export interface Outcome {
  readonly judgement: Judgement;
  readonly firstFinding: Forecast | null;
  readonly findings: readonly Forecast[];
  /** a true fault each: what the finding that names it was given */
  readonly givenToTruth: readonly number[];
  readonly coverage: Coverage;
}

export function outcomeOf(
  truth: TrueRound,
  findings: readonly NamedCause[],
  verdict: string,
  figures: Pick<RoundDiagnosis, "parts" | "states"> | null,
): Outcome {
  const coverage = emptyCoverage();
  if (figures !== null) addCoverage(coverage, truth, figures);
  const forecasts = findings.map(
    (finding): Forecast => ({
      probability: finding.probability,
      right: truth.faults.some((fault) => isExact(finding, fault)),
    }),
  );
  return {
    judgement: judge(truth, findings, verdict),
    firstFinding: forecasts[0] ?? null,
    findings: forecasts,
    givenToTruth: truth.faults.map((fault) =>
      Math.max(0, ...findings.filter((finding) => isWithin(finding, fault)).map(({ probability }) => probability)),
    ),
    coverage,
  };
}
