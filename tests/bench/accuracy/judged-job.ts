/**
 * One drawn job, diagnosed by the program, by the oracle, with shifted priors and by the rule of thumb, and judged.
 */

import { candidatesOf } from "../../../analysis/finding/candidate.ts";
import { drawnBelief, partEntries, stateEntries } from "../../../analysis/finding/figures.ts";
import { diagnoseFiles, type Job, type LogReading, Problem, parseJob, readLog } from "../../../analysis/index.ts";
import { believe, type Posterior } from "../../../analysis/inference/posterior.ts";
import { type ExpectedPart, expectedParts } from "../../../analysis/loop/expected-part.ts";
import type { Reading } from "../../../analysis/reading/reading.ts";
import { askedConditions, believeRound } from "../../../analysis/round-belief.ts";
import type { DrawnJob, DrawOptions } from "../../fixtures/recipe/draw-job.ts";
import type { Evidence, TrueRound } from "../../fixtures/recipe/truth.ts";
import { drawnJob, filesAsBytes } from "./drawn-jobs.ts";
import { type Judgement, judge, type NamedCause } from "./judge.ts";
import { type PriorShift, priorShifts, recipeParts, shiftedParts, withRecipePriors } from "./other-priors.ts";
import { type Outcome, outcomeOf } from "./outcome.ts";
import { textbookFindings } from "./textbook-rule.ts";
import { readingsInTrueStates } from "./true-states.ts";

export interface JudgedJob {
  readonly seed: number;
  readonly evidence: Evidence;
  readonly layout: string;
  readonly round: Pick<TrueRound, "faults">;
  readonly program: Outcome;
  /** null: not asked for */
  readonly oracle: Outcome | null;
  readonly shifted: Readonly<Record<PriorShift, Judgement>> | null;
  readonly textbook: Judgement;
  /** the rule that knows the battery's and the charging's figures, too */
  readonly fullTextbook: Judgement;
  readonly milliseconds: number;
  /** of the belief alone, all hypotheses and pairs */
  readonly beliefMilliseconds: number;
  readonly got: readonly NamedCause[];
  readonly verdict: string;
  readonly problem: string | null;
}

/** @param beside whether oracle and shifted priors are run, too */
export async function judgedJob(seed: number, options: Partial<DrawOptions>, beside: boolean): Promise<JudgedJob> {
  const drawn = await drawnJob(seed, options);
  const truth = drawn.truth.rounds[0]!;
  const started = performance.now();
  const { round, problem } = diagnosed(drawn);
  const milliseconds = performance.now() - started;
  const got: readonly NamedCause[] = round?.findings ?? [];
  const verdict = round?.verdict ?? "none";
  const document = JSON.parse(drawn.files.get("job.json")!);
  const more =
    beside && problem === null ? besides(drawn, truth) : { oracle: null, shifted: null, beliefMilliseconds: 0 };
  return {
    seed,
    evidence: drawn.truth.evidence,
    layout: drawn.truth.layout,
    round: { faults: truth.faults },
    program: outcomeOf(truth, got, verdict, round),
    textbook: judge(truth, textbookFindings(document, truth, false), "fault"),
    fullTextbook: judge(truth, textbookFindings(document, truth, true), "fault"),
    milliseconds,
    got: got.slice(0, 3).map(({ cause, parts, probability }) => ({ cause, parts, probability })),
    verdict,
    problem,
    ...more,
  };
}

function diagnosed(drawn: DrawnJob) {
  try {
    return { round: diagnoseFiles(drawn.folder, filesAsBytes(drawn)).rounds[0]!, problem: null };
  } catch (thrown) {
    const words =
      thrown instanceof Problem ? thrown.message : (thrown as Error).stack?.split("\n").slice(0, 3).join(" ");
    return { round: null, problem: `seed ${drawn.seed}: ${words}` };
  }
}

function besides(drawn: DrawnJob, truth: TrueRound): Pick<JudgedJob, "oracle" | "shifted" | "beliefMilliseconds"> {
  const { job: declared } = parseJob(drawn.files.get("job.json")!);
  const logs = readLogs(drawn, declared);
  const { job, readings } = believeRound(declared, "before", logs);
  const started = performance.now();
  posteriorOf(job, expectedParts(job), readings);
  const beliefMilliseconds = performance.now() - started;
  const shifted = Object.fromEntries(
    (Object.keys(priorShifts) as PriorShift[]).map((shift) => [
      shift,
      judge(truth, found(posteriorOf(job, shiftedParts(job, shift), readings)), ""),
    ]),
  ) as Record<PriorShift, Judgement>;
  const oracle = withRecipePriors(() => {
    const posterior = posteriorOf(job, recipeParts(job), readingsInTrueStates(job, logs, truth));
    const belief = drawnBelief(posterior);
    return outcomeOf(truth, found(posterior), "", { parts: partEntries(belief), states: stateEntries(belief) });
  });
  return { oracle, shifted, beliefMilliseconds };
}

const posteriorOf = (job: Job, parts: readonly ExpectedPart[], readings: readonly Reading[]): Posterior =>
  believe(job, parts, readings, askedConditions(job, readings));

/** As findings are given out: the likeliest, and what is not negligible. */
function found(posterior: Posterior): NamedCause[] {
  return candidatesOf(posterior)
    .filter(({ probability }, index) => index === 0 || probability >= 0.01)
    .slice(0, 8)
    .map(({ cause, parts, probability }) => ({
      cause,
      parts: parts.map((part) => posterior.setting.expected[part]!.id),
      probability,
    }));
}

function readLogs(drawn: DrawnJob, job: Job): LogReading[] {
  const files = filesAsBytes(drawn);
  const logs = new Map<Job["recordings"][number], LogReading>();
  for (const file of new Set(job.recordings.map((recording) => recording.file))) {
    const recordings = job.recordings.filter((recording) => recording.file === file);
    readLog(file, files.get(file)!, recordings).forEach((log, index) => {
      logs.set(recordings[index]!, log);
    });
  }
  return job.recordings.map((recording) => logs.get(recording)!);
}
