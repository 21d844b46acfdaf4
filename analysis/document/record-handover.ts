/** The record's handover: protection checks, checklist, what a full verification still needs, cautions, and the hashes. */
import type { Diagnosis, RoundDiagnosis } from "../diagnosis.ts";
import { cautionsForRepair } from "../finding/caution.ts";
import { mechanicalChecklist } from "../finding/protection.ts";
import type { Job } from "../job/job.ts";
import { engineWords, radioWords } from "../plain-words.ts";
import type { Block, RecordStamp, Section } from "./record-model.ts";
import { capital, partName, passWords, pointName, words } from "./record-words.ts";

export function handoverSections(job: Job, { rounds }: Diagnosis, stamp: RecordStamp): Section[] {
  const last = rounds.at(-1);
  const { headings } = words;
  return [
    ...(last ? [{ heading: headings.protection, blocks: [protectionTable(job, last)] }] : []),
    { heading: headings.checklist, blocks: [checklistTable(job)] },
    ...(last ? [{ heading: headings.handover, blocks: handoverBlocks(last) }] : []),
    ...awareSection(rounds),
    { heading: headings.limits, blocks: [{ kind: "list", items: cautionItems(job, rounds) }] },
    { heading: headings.rests, blocks: restsBlocks(job, stamp) },
  ];
}

const questions = new Set(mechanicalChecklist.map(({ id }) => id));

function protectionTable(job: Job, { protection }: RoundDiagnosis): Block {
  const rank = (pass: boolean | null) => (pass === false ? 0 : pass === null ? 1 : 2);
  return {
    kind: "table",
    head: ["Part", "Check", "Result", "Figures", "Source"],
    shares: [13, 21, 9, 35, 22],
    rows: protection
      .filter(({ check }) => !questions.has(check))
      .toSorted((a, b) => rank(a.pass) - rank(b.pass))
      .map(({ part, check, pass, detail, source }) => [
        part === "" ? "whole run" : partName(job, part),
        check,
        passWords(pass),
        detail,
        source,
      ]),
  };
}

/** The last answer given to each question, over all rounds; answers under other names after them. */
function checklistTable(job: Job): Block {
  const answers = new Map(job.rounds.flatMap(({ checks }) => Object.entries(checks ?? {})));
  const answered = (id: string) => (answers.has(id) ? (answers.get(id) ? "yes" : "NO") : "not answered");
  const others = [...answers.keys()].filter((id) => !questions.has(id));
  return {
    kind: "table",
    head: ["Question", "Answer"],
    shares: [82, 18],
    rows: [
      ...mechanicalChecklist.map(({ id, words: question }) => [capital(question), answered(id)]),
      ...others.map((id) => [id, answered(id)]),
    ],
  };
}

function handoverBlocks({ verification }: RoundDiagnosis): Block[] {
  const { readingsTaken, readingsMissing, passed } = verification;
  const result =
    passed === null
      ? "Not complete: something is still to be measured, checked or too uncertain to tell."
      : passed
        ? "Passed."
        : "Not passed: something speaks against it.";
  const missing = readingsMissing.map(
    ({ from, to, engine, radio }) =>
      `${pointName(from)} to ${pointName(to)}, ${engineWords[engine]}, ${radioWords[radio]}`,
  );
  return [
    { kind: "paragraph", text: `${result} ${readingsTaken.length} readings taken, ${missing.length} still missing.` },
    ...(missing.length > 0 ? [{ kind: "list", items: missing } as const] : []),
  ];
}

function awareSection(rounds: readonly RoundDiagnosis[]): Section[] {
  const items = rounds.flatMap(({ round, recordings, warnings }) => [
    ...warnings.map((warning) => `${round}: ${warning}`),
    ...recordings.flatMap((entry) => entry.warnings.map((warning) => `${entry.file}: ${warning}`)),
  ]);
  return items.length > 0
    ? [{ heading: words.headings.aware, blocks: [{ kind: "list", items: [...new Set(items)] }] }]
    : [];
}

function cautionItems(job: Job, rounds: readonly RoundDiagnosis[]): string[] {
  const [first] = rounds[0]?.findings ?? [];
  const cautions = first ? cautionsForRepair(job, first).map(({ text, source }) => `${text} (${source})`) : [];
  return [...words.limits, ...cautions, ...(job.rules ? [`Rules that apply: ${job.rules}`] : [])];
}

function restsBlocks(job: Job, { hashes, programVersion, madeOn }: RecordStamp): Block[] {
  return [
    { kind: "paragraph", text: words.followed },
    { kind: "paragraph", text: `Made on ${madeOn} by Loopwalk ${programVersion}.` },
    ...(job.notes ? [{ kind: "paragraph", text: `Notes: ${job.notes}` } as const] : []),
    {
      kind: "table",
      head: ["File", "SHA-256"],
      shares: [30, 70],
      rows: Object.entries(hashes),
    },
  ];
}
