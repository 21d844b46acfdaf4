/**
 * `--verify`: whether a finished install may be handed over, as the last round shows it.
 * Goes in: the checked job and its full diagnosis. Comes out: lines of at most 80 columns.
 */
import {
  dropLimitVolts,
  type FullDiagnosis,
  type Job,
  jobInRound,
  mechanicalChecklist,
  type ProtectionCheck,
  plainVolts,
  type ReadingNeeded,
  type RoundDiagnosis,
} from "../../analysis/index.ts";
import { comparisonLines } from "./comparison-text.ts";
import { resultLines } from "./finding-text.ts";
import { pageColumns, safe, wrapped } from "./page.ts";
import { neededWords, worstCaseLines } from "./verification-text.ts";

export function handoverText(job: Job, { diagnosis, handoverRemarks, everyComparison }: FullDiagnosis): string[] {
  const title = safe(diagnosis.title) || safe(diagnosis.folder);
  const head = [...wrapped("", title), ...wrapped("", diagnosis.folder), "═".repeat(pageColumns)];
  const round = diagnosis.rounds.at(-1);
  if (round === undefined) return [...head, "Nothing has been measured yet: there is nothing to verify."];
  const asItWas = jobInRound(job, round.round);
  return [
    ...head,
    ...wrapped("", `Round '${round.round}': ${passedWords(round)}`),
    ...handoverRemarks.at(-1)!.flatMap((remark) => wrapped("  - ", remark)),
    "",
    ...resultLines(asItWas, round),
    "",
    ...section("Worst case", [...worstCaseLines(asItWas, round), ...lostLines(asItWas, round)]),
    ...section("Readings", readingLines(round)),
    ...section("Protection of the wiring", protectionLines(round)),
    ...section("Checklist (answered by the technician)", checklistLines(job)),
    ...everyComparison().flatMap(({ comparison, newTrouble }) => [
      ...comparisonLines(comparison).slice(0, -1),
      ...newTrouble.flatMap((news) => wrapped("  ! ", news)),
      "",
    ]),
    ...wrapped("", "Local codes, the maker's instructions and licensed practice come before anything said here."),
  ];
}

function passedWords({ verification: { passed } }: RoundDiagnosis): string {
  if (passed === null) return "cannot be handed over yet: something is still to be measured, done or made certain.";
  return passed
    ? "may be handed over: every reading is taken and nothing speaks against it."
    : "NOT to be handed over.";
}

/** Both sides together, keyed with the engine off, against the limit. */
function lostLines(job: Job, { states }: RoundDiagnosis): string[] {
  const keyed = states.find(({ engine, radio }) => engine === "off" && radio === "transmit");
  if (!keyed?.supplyDropVolts || !keyed.returnDropVolts) return [];
  const lost = keyed.supplyDropVolts.value + keyed.returnDropVolts.value;
  const limit = `at most ${plainVolts(dropLimitVolts(job))} is allowed`;
  return wrapped("  ", `As measured, ${plainVolts(lost)} is lost on the way there and back; ${limit}.`);
}

function readingLines({ verification: { readingsTaken, readingsMissing } }: RoundDiagnosis): string[] {
  const lines = (mark: string, readings: readonly ReadingNeeded[]) =>
    readings.flatMap((reading) => wrapped(mark, neededWords(reading)));
  return [...lines("  MISSING  ", readingsMissing), ...lines("  taken    ", readingsTaken)];
}

const isQuestion = ({ check }: ProtectionCheck) => mechanicalChecklist.some(({ id }) => id === check);

/** Every check with its figure, its limit and its source; what speaks against the install first. */
function protectionLines({ protection }: RoundDiagnosis): string[] {
  const rank = ({ pass }: ProtectionCheck) => (pass === false ? 0 : pass === null ? 1 : 2);
  return protection
    .filter((check) => !isQuestion(check))
    .toSorted((a, b) => rank(a) - rank(b))
    .flatMap((one) => [
      ...wrapped(["  FAILS  ", "  open   ", "  ok     "][rank(one)]!, [one.part, one.check].filter(Boolean).join(": ")),
      ...wrapped("         ", one.detail),
      ...wrapped("         ", `(${one.source})`),
    ]);
}

/** The last answer to each question over all rounds, in the order in which the work is done. */
function checklistLines(job: Job): string[] {
  const answers = new Map(job.rounds.flatMap(({ checks }) => Object.entries(checks ?? {})));
  const mark = (id: string) => (answers.has(id) ? (answers.get(id) ? "  yes  " : "  NO   ") : "  ?    ");
  const others = [...answers.keys()].filter((id) => mechanicalChecklist.every((question) => question.id !== id));
  return [
    ...(["before power", "finished"] as const).flatMap((when) => [
      `  ${when}`,
      ...mechanicalChecklist
        .filter((question) => question.when === when)
        .flatMap(({ id, words }) => wrapped(mark(id), `${words} [${id}]`)),
    ]),
    ...others.flatMap((id) => wrapped(mark(id), id)),
  ];
}

const section = (title: string, lines: readonly string[]) => (lines.length > 0 ? [title, ...lines, ""] : []);
