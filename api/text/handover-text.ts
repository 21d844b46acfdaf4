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
  valueForPrint,
} from "../../analysis/index.ts";
import { comparisonLines } from "./comparison-text.ts";
import { resultLines } from "./finding-text.ts";
import { pageColumns, safe, wrapped } from "./page.ts";
import { neededWords, worstCaseLines } from "./verification-text.ts";

type Answers = ReadonlyMap<string, ProtectionCheck>;

export function handoverText(job: Job, { diagnosis, handoverRemarks, everyComparison }: FullDiagnosis): string[] {
  const title = safe(diagnosis.title) || safe(diagnosis.folder);
  const head = [...wrapped("", title), ...wrapped("", diagnosis.folder), "═".repeat(pageColumns)];
  const round = diagnosis.rounds.at(-1);
  if (round === undefined) return [...head, "Nothing has been measured yet: there is nothing to verify."];
  const asItWas = jobInRound(job, round.round);
  const answers = answersOf(round);
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
    ...section(checklistTitle(answers), checklistLines(answers)),
    ...everyComparison().flatMap(({ comparison, newTrouble }) => [
      ...comparisonLines(comparison, diagnosis.rounds).slice(0, -1),
      ...newTrouble.flatMap((news) => wrapped("  ! ", news)),
      "",
    ]),
    ...codeLines(job),
  ];
}

function checklistTitle(answers: Answers): string {
  const open = mechanicalChecklist.filter(({ id }) => typeof answers.get(id)?.pass !== "boolean").length;
  return `Checklist, answered by the technician${open > 0 ? ` (${open} of ${mechanicalChecklist.length} not answered)` : ""}`;
}

function passedWords({ verification: { passed } }: RoundDiagnosis): string {
  if (passed === null) return "cannot be handed over yet: something is still to be measured, done or made certain.";
  return passed
    ? "may be handed over as far as readings and figures go: every reading is taken and nothing speaks against it."
    : "NOT to be handed over.";
}

/** What the set needs where it is not declared, and both sides together, keyed with the engine off, against the limit. */
function lostLines(job: Job, { states }: RoundDiagnosis): string[] {
  const noMinimum =
    job.load.minimumVolts === undefined
      ? wrapped("  ", "The least voltage that the set works at is not declared: only the drop has a limit.")
      : [];
  const keyed = states.find(({ engine, radio }) => engine === "off" && radio === "transmit");
  if (!keyed?.supplyDropVolts || !keyed.returnDropVolts) return noMinimum;
  const lost = keyed.supplyDropVolts.value + keyed.returnDropVolts.value;
  const current = keyed.amps === null ? "" : ` at ${valueForPrint(keyed.amps, "A")}`;
  const limit = `at most ${plainVolts(dropLimitVolts(job))} is allowed`;
  return [
    ...noMinimum,
    ...wrapped("  ", `As measured${current}, ${plainVolts(lost)} is lost on the way there and back; ${limit}.`),
  ];
}

function readingLines({ verification: { readingsTaken, readingsMissing } }: RoundDiagnosis): string[] {
  const lines = (mark: string, readings: readonly ReadingNeeded[]) =>
    readings.flatMap((reading) => wrapped(mark, neededWords(reading)));
  return [...lines("  MISSING  ", readingsMissing), ...lines("  taken    ", readingsTaken)];
}

/** The checklist's answers stand among the checks, as the technician's. */
const isAnswer = ({ source }: ProtectionCheck) => source.startsWith("checklist");
const answersOf = ({ protection }: RoundDiagnosis): Answers =>
  new Map(protection.filter(isAnswer).map((one) => [one.check, one]));

/** Every check with its figure, its limit and its source; what speaks against the install first. */
function protectionLines({ protection }: RoundDiagnosis): string[] {
  const rank = ({ pass }: ProtectionCheck) => (pass === false ? 0 : pass === null ? 1 : 2);
  const checks = protection.filter((check) => !isAnswer(check)).toSorted((a, b) => rank(a) - rank(b));
  return [
    ...wrapped(
      "  ",
      "ok: kept; open: cannot be told, or what speaks against it is from memory or binds nobody here; FAILS: broken",
    ),
    ...alikeTogether(checks).flatMap(({ parts, one }) => [
      ...wrapped(
        ["  FAILS  ", "  open   ", "  ok     "][rank(one)]!,
        [parts.join(", "), one.check].filter(Boolean).join(": "),
      ),
      ...wrapped("         ", one.detail),
      ...wrapped("         ", `(${one.source})`),
    ]),
  ];
}

/** Parts of which the same is said in the same words are named together. */
function alikeTogether(checks: readonly ProtectionCheck[]): { parts: string[]; one: ProtectionCheck }[] {
  const groups = new Map<string, { parts: string[]; one: ProtectionCheck }>();
  for (const one of checks) {
    const key = JSON.stringify([one.check, one.pass, one.detail, one.source]);
    const group = groups.get(key) ?? { parts: [], one };
    groups.set(key, group);
    if (one.part !== "") group.parts.push(one.part);
  }
  return [...groups.values()];
}

/** The answers that hold now, in the order in which the work is done; a test of earlier wiring is open and says so. */
function checklistLines(answers: Answers): string[] {
  const mark = (id: string) =>
    ({ true: "  yes  ", false: "  NO   ", null: "  ?    " })[`${answers.get(id)?.pass ?? null}`];
  const others = [...answers.keys()].filter((id) => mechanicalChecklist.every((question) => question.id !== id));
  return [
    ...(["before power", "finished"] as const).flatMap((when) => [
      `  ${when}`,
      ...mechanicalChecklist
        .filter((question) => question.when === when)
        .flatMap(({ id, words }) => wrapped(mark(id), `${answers.get(id)?.detail ?? words} [${id}]`)),
    ]),
    ...others.flatMap((id) => wrapped(mark(id), id)),
  ];
}

/** Which code the figures are taken from, and that the program does not know what applies where the vehicle is. */
function codeLines({ rules }: Job): string[] {
  const named = rules?.trim()
    ? `The code that the job names: ${rules}.`
    : "The job names no code: figures are those of the United States' rules for boats (33 CFR 183) and of common practice, and what applies where the vehicle or boat is used is not known here.";
  const first = "Local codes, the maker's instructions and licensed practice come before anything said here.";
  return wrapped("", `${named} ${first}`);
}

const section = (title: string, lines: readonly string[]) => (lines.length > 0 ? [title, ...lines, ""] : []);
