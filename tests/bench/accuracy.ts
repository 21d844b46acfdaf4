/**
 * `npm run bench:accuracy -- [COUNT] …`: draws jobs, has the program diagnose them, and prints how often it was right.
 * Usage in tests/bench/accuracy/README.md.
 */
import { parseArgs } from "node:util";
import { type Diagnosis, diagnoseFiles, Problem } from "../../analysis/index.ts";
import type { DrawnJob, DrawOptions } from "../fixtures/recipe/draw-job.ts";
import type { Cause, Evidence } from "../fixtures/recipe/truth.ts";
import { addCoverage, emptyCoverage } from "./accuracy/coverage.ts";
import { drawnJob, filesAsBytes, writeFolder } from "./accuracy/drawn-jobs.ts";
import { isExact, isWithin, judge, type NamedCause } from "./accuracy/judge.ts";
import { type Judged, kindOf, printRun } from "./accuracy/report.ts";
import type { Forecast } from "./accuracy/scores.ts";
import { textbookFindings } from "./accuracy/textbook-rule.ts";

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    from: { type: "string", default: "1" },
    evidence: { type: "string" },
    cause: { type: "string" },
    plain: { type: "boolean", default: false },
    misses: { type: "boolean", default: false },
    write: { type: "string" },
  },
});
const options: Partial<DrawOptions> = {
  ...(values.evidence === undefined ? {} : { evidence: values.evidence as Evidence }),
  ...(values.cause === undefined ? {} : { cause: values.cause.split("+") as Cause[] }),
  ...(values.plain ? { dialects: "plain" } : {}),
};

if (values.write !== undefined) {
  for (const seed of positionals) writeFolder(await drawnJob(Number(seed), options), `${values.write}/drawn-${seed}`);
  process.exit(0);
}

const count = Number(positionals[0] ?? 200);
const first = Number(values.from);
const judged: Judged[] = [];
const firstFindings: Forecast[] = [];
const allFindings: Forecast[] = [];
const givenToTruth: number[] = [];
const coverage = emptyCoverage();
const failed: string[] = [];
const misses: string[] = [];

for (let seed = first; seed < first + count; seed++) {
  const job = await drawnJob(seed, options);
  const truth = job.truth.rounds[0]!;
  const started = performance.now();
  const diagnosis = diagnosed(job);
  const milliseconds = performance.now() - started;
  const round = diagnosis?.rounds[0];
  const findings: readonly NamedCause[] = round?.findings ?? [];
  const program = judge(truth, findings, round?.verdict ?? "none");
  const document = JSON.parse(job.files.get("job.json")!);
  const textbook = judge(truth, textbookFindings(document, truth, false), "fault");
  const fullTextbook = judge(truth, textbookFindings(document, truth, true), "fault");
  judged.push({ seed, evidence: job.truth.evidence, round: truth, program, textbook, fullTextbook, milliseconds });
  const isRight = (finding: NamedCause) => truth.faults.some((fault) => isExact(finding, fault));
  findings.forEach((finding, place) => {
    const forecast = { probability: finding.probability, right: isRight(finding) };
    allFindings.push(forecast);
    if (place === 0) firstFindings.push(forecast);
  });
  for (const fault of truth.faults)
    givenToTruth.push(Math.max(0, ...findings.filter((f) => isWithin(f, fault)).map((f) => f.probability)));
  if (round !== undefined) addCoverage(coverage, truth, round);
  if (!program.exact || program.bothFound === false) misses.push(missLine(job, findings, round?.verdict ?? "none"));
  if (process.stderr.isTTY) process.stderr.write(`\r${seed - first + 1} of ${count}`);
}
if (process.stderr.isTTY) process.stderr.write("\r");
printRun({ judged, firstFindings, allFindings, givenToTruth, coverage, failed });
if (values.misses) {
  console.log(`\nmisses (look at one with --write DIR SEED)`);
  for (const miss of misses) console.log(miss);
}
process.exit(0);

function diagnosed(job: DrawnJob): Diagnosis | null {
  try {
    return diagnoseFiles(job.folder, filesAsBytes(job));
  } catch (problem) {
    const words =
      problem instanceof Problem ? problem.message : (problem as Error).stack?.split("\n").slice(0, 3).join(" ");
    failed.push(`seed ${job.seed}: ${words}`);
    return null;
  }
}

function missLine(job: DrawnJob, findings: readonly NamedCause[], verdict: string): string {
  const truth = job.truth.rounds[0]!;
  const faults = truth.faults.map(
    (fault) =>
      `${fault.cause}${fault.group.length > 0 ? ` [${fault.group.join(" ")}]` : ""} ${fault.dropVolts.toFixed(2)} V`,
  );
  const got = findings
    .slice(0, 3)
    .map(
      ({ cause, parts, probability }) =>
        `${probability.toFixed(2)} ${cause}${parts.length > 0 ? ` [${parts.join(" ")}]` : ""}`,
    );
  const head = `${String(job.seed).padStart(5)} ${job.truth.evidence} ${job.truth.layout} (${kindOf(truth)})`;
  return `${head}\n        true ${faults.join(" + ")}\n        got  ${verdict}: ${got.join(" | ")}`;
}
