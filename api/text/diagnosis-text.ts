/**
 * A diagnosis as a technician reads it in a terminal: the result in a sentence, the picture, what to do, what to measure next.
 * Goes in: the checked job and its diagnosis. Comes out: lines of at most 80 columns.
 */
import { type Diagnosis, type Job, jobInRound, type RoundDiagnosis } from "../../analysis/index.ts";
import { comparisonLines } from "./comparison-text.ts";
import { findingLines, resultLines } from "./finding-text.ts";
import { logLines, stateLines } from "./measured-text.ts";
import { nextReadingLines } from "./next-reading-text.ts";
import { pageColumns, safe, wrapped } from "./page.ts";
import { potentialProfile, profileKey } from "./potential-profile.ts";
import { protectionLines, verificationLines, worstCaseLines } from "./verification-text.ts";

export function diagnosisText(job: Job, diagnosis: Diagnosis): string[] {
  const title = safe(diagnosis.title) || safe(diagnosis.folder);
  return [
    ...wrapped("", title),
    ...wrapped("", diagnosis.folder),
    "═".repeat(pageColumns),
    ...(diagnosis.rounds.length === 0 ? [nothingMeasured] : []),
    ...diagnosis.rounds.flatMap((round) => roundLines(jobInRound(job, round.round), round)),
    ...comparisonLines(diagnosis.comparison, diagnosis.rounds),
  ];
}

const nothingMeasured = "Nothing has been measured yet: there is no recording and no reading in the job.";

function roundLines(job: Job, round: RoundDiagnosis): string[] {
  return [
    ...wrapped("", `Round '${round.round}'`),
    "",
    ...resultLines(job, round),
    "",
    ...potentialProfile(job, round),
    profileKey,
    "",
    ...section("What was found", findingLines(job, round)),
    ...section("Next reading", nextReadingLines(job, round)),
    ...section("Worst case", worstCaseLines(job, round)),
    ...section("What was measured (± holds 95 %)", [...stateLines(round), ...logLines(round)]),
    ...section("Protection of the wiring", protectionLines(round)),
    ...section("Readings for a full verification", verificationLines(round)),
    ...section(
      "To be aware of",
      round.warnings.flatMap((warning) => wrapped("  - ", warning)),
    ),
    "─".repeat(pageColumns),
  ];
}

const section = (title: string, lines: readonly string[]) => (lines.length > 0 ? [title, ...lines, ""] : []);
