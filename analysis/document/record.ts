/**
 * The customer's record as data: title, sections, tables and the picture, the same for paper and page.
 * Goes in: a checked job, its diagnosis, and what stands on the record beside them. Comes out: the document; nothing is drawn here.
 */
import type { Diagnosis } from "../diagnosis.ts";
import type { Job } from "../job/job.ts";
import { jobInRound } from "../job/round.ts";
import { withInterval } from "../round-for-print.ts";
import { profilePicture } from "./profile-picture.ts";
import { keyedState } from "./profile-shape.ts";
import { evidenceSections } from "./record-evidence.ts";
import { handoverSections } from "./record-handover.ts";
import type { Block, RecordDocument, RecordStamp, Section, Seen } from "./record-model.ts";
import { capital, heldSentence, partName, resultSentence, words, worstCaseSentence } from "./record-words.ts";

/** The record of a job. The same job, diagnosis and stamp always give the same document. */
export function recordDocument(job: Job, diagnosis: Diagnosis, stamp: RecordStamp, seen: Seen): RecordDocument {
  const title = job.title || words.untitled;
  return {
    kind: words.kind,
    title,
    facts: factsOf(job, stamp),
    front: frontSections(job, diagnosis),
    rest:
      stamp.form === "short"
        ? []
        : [...evidenceSections(job, diagnosis, stamp), ...handoverSections(job, diagnosis, stamp, seen)],
    footer: title,
  };
}

function factsOf(job: Job, { madeOn, programVersion }: RecordStamp): [string, string][] {
  const facts: [string, string | undefined][] = [
    [words.facts.customer, job.customer],
    [words.facts.vehicle, job.vehicle],
    [words.facts.vehicleId, job.vehicleId],
    [words.facts.set, job.load.label],
    [words.facts.technician, job.technician],
    [words.facts.made, words.made(madeOn, programVersion)],
  ];
  return facts.flatMap(([name, value]) => (value ? [[name, value] as [string, string]] : []));
}

function frontSections(job: Job, diagnosis: Diagnosis): Section[] {
  const { rounds, comparison } = diagnosis;
  const first = rounds[0];
  const last = rounds.at(-1);
  const { headings } = words;
  if (!first || !last) {
    return [{ heading: headings.found, blocks: [{ kind: "paragraph", text: words.nothingMeasured }] }];
  }
  const repaired = first !== last;
  const [cause] = first.findings;
  const before = jobInRound(job, first.round);
  const now = jobInRound(job, last.round);
  const wrong = [
    resultSentence(before, first),
    ...(cause && first.verdict !== "sound" ? [cause.summary] : []),
    ...(cause?.repair && first.verdict !== "sound" && !repaired ? [words.toDo(cause.repair)] : []),
  ].filter((text) => text !== "");
  return [
    {
      heading: repaired && first.verdict === "fault" ? headings.wrong : headings.found,
      blocks: [...new Set(wrong)].map((text) => ({ kind: "paragraph", text })),
    },
    { heading: headings.done, blocks: doneBlocks(job) },
    {
      heading: repaired ? headings.now : headings.measured,
      blocks: [
        ...(comparison ? [heldSentence(comparison.repairHeld), resultSentence(now, last)] : []),
        ...gained(diagnosis),
        keyedSentence(diagnosis),
        worstCaseSentence(now, last),
      ]
        .filter((text) => text !== "")
        .map((text) => ({ kind: "paragraph", text })),
    },
    {
      heading: headings.profile,
      blocks: [{ kind: "profile", picture: profilePicture(job, diagnosis), caption: words.profileCaption }],
    },
  ];
}

const gained = ({ comparison }: Diagnosis): string[] =>
  comparison?.loadVoltsGained ? [words.gained(withInterval(comparison.loadVoltsGained, "V"))] : [];

function keyedSentence({ rounds }: Diagnosis): string {
  const last = rounds.at(-1);
  const state = last && (keyedState(last) ?? last.states.find(({ radio }) => radio === "transmit"));
  if (!state) return "";
  const figures = [
    state.loadVolts && words.atSet(withInterval(state.loadVolts, "V")),
    state.batteryVolts && words.atBattery(withInterval(state.batteryVolts, "V")),
    state.supplyDropVolts && words.lostFeed(withInterval(state.supplyDropVolts, "V")),
    state.returnDropVolts && words.lostGround(withInterval(state.returnDropVolts, "V")),
  ].filter((figure) => figure !== null);
  return figures.length > 0 ? words.whileKeyed(figures.join(", ")) : "";
}

function doneBlocks(job: Job): Block[] {
  const items = job.rounds.flatMap(({ date, note, done, changed }) => [
    ...(done ?? []).map((one) => dated(one, date)),
    ...(note ? [dated(note, date)] : []),
    ...(changed ?? []).map(({ id, ...fields }) =>
      dated(words.isNow(capital(partName(job, id)), fieldsInWords(fields)), date),
    ),
  ]);
  return items.length > 0 ? [{ kind: "list", items }] : [{ kind: "paragraph", text: words.nothingWritten }];
}

const dated = (text: string, date: string | undefined): string => (date ? words.fact(date, text) : text);

const fieldsInWords = (fields: Readonly<Record<string, unknown>>): string =>
  Object.entries(fields)
    .map(([name, value]) => `${name.replaceAll(/(?<=[a-z])[A-Z]/g, (l) => ` ${l.toLowerCase()}`)} ${String(value)}`)
    .join(", ");
