/** The record's handover: protection checks, checklist, what a full verification still needs, cautions, and the hashes. */
import type { Diagnosis, RoundDiagnosis } from "../diagnosis.ts";
import { cautionsForRepair } from "../finding/caution.ts";
import { answersIn, mechanicalChecklist } from "../finding/protection.ts";
import type { Job } from "../job/job.ts";
import { allRounds } from "../job/round.ts";
import { engineWords, radioWords } from "../plain-words.ts";
import { photoFacts, withoutPlace } from "./photo.ts";
import type { Block, PrintedPhoto, RecordStamp, Section, Seen } from "./record-model.ts";
import { capital, partName, passWords, pointName, words } from "./record-words.ts";
import { sealCode } from "./seal-code.ts";

export function handoverSections(job: Job, { rounds }: Diagnosis, stamp: RecordStamp, seen: Seen): Section[] {
  const last = rounds.at(-1);
  const { headings } = words;
  return [
    ...(last ? [{ heading: headings.protection, blocks: [protectionTable(job, last)] }] : []),
    { heading: headings.checklist, blocks: [checklistTable(job)] },
    ...photoSection(job, seen.files),
    ...(last ? [{ heading: headings.handover, blocks: handoverBlocks(last) }] : []),
    ...awareSection(rounds),
    { heading: headings.limits, blocks: [{ kind: "list", items: cautionItems(job, rounds) }] },
    ...signedSection(job, seen.signedContentHash),
    { heading: headings.rests, blocks: restsBlocks(job, stamp, seen.recordHash) },
  ];
}

function photoSection(job: Job, files: Seen["files"]): Section[] {
  const photos = job.rounds.flatMap((round) =>
    (round.photos ?? []).map((photo) =>
      typeof photo === "string"
        ? printedPhoto(files, photo, round.round)
        : printedPhoto(files, photo.file, round.round, photo.caption),
    ),
  );
  return photos.length > 0 ? [{ heading: words.headings.photos, blocks: [{ kind: "photos", photos }] }] : [];
}

/** What is printed is the cleaned picture, whatever the file inside the record holds. */
function printedPhoto(files: Seen["files"], file: string, round: string, caption?: string): PrintedPhoto {
  const bytes = files.get(file);
  if (!bytes) return { caption: words.photoMissing(file), picture: null };
  const clean = withoutPlace(bytes);
  const facts = clean && photoFacts(clean);
  if (!clean || !facts) return { caption: words.photoUnreadable(file), picture: null };
  return { caption: caption || words.photoUntold(round), picture: { bytes: clean, facts } };
}

function signedSection(job: Job, signedContentHash: string): Section[] {
  const names = (job.signatures ?? []).map(({ by, name = "", date = "", strokes, over }) => ({
    strokes,
    words: words.signedBy(words.signers[by], name, date),
    remark: over === signedContentHash ? words.signedThis : words.signedEarlier,
  }));
  return names.length > 0 ? [{ heading: words.headings.signed, blocks: [{ kind: "signatures", names }] }] : [];
}

const questions = new Set(mechanicalChecklist.map(({ id }) => id));

function protectionTable(job: Job, { protection }: RoundDiagnosis): Block {
  const rank = (pass: boolean | null) => (pass === false ? 0 : pass === null ? 1 : 2);
  return {
    kind: "table",
    head: words.tables.protection,
    shares: [13, 21, 9, 35, 22],
    rows: protection
      .filter(({ check }) => !questions.has(check))
      .toSorted((a, b) => rank(a.pass) - rank(b.pass))
      .map(({ part, check, pass, detail, source }) => [
        part === "" ? words.wholeRun : partName(job, part),
        check,
        passWords(pass),
        detail,
        source,
      ]),
  };
}

/** The last answer given to each question; a test that was made on earlier wiring is told as such. Other answers after them. */
function checklistTable(job: Job): Block {
  const answers = answersIn(job, allRounds(job).at(-1) ?? "");
  const answered = (id: string): string => {
    const given = answers.get(id);
    if (given === undefined) return words.notAnswered;
    const answer = given.answer ? words.yes : words.no;
    return given.holds ? answer : words.answeredEarlier(answer, given.round);
  };
  const others = [...answers.keys()].filter((id) => !questions.has(id));
  return {
    kind: "table",
    head: words.tables.checklist,
    shares: [74, 26],
    rows: [
      ...mechanicalChecklist.map(({ id, words: question }) => [capital(question), answered(id)]),
      ...others.map((id) => [id, answered(id)]),
    ],
  };
}

function handoverBlocks({ verification }: RoundDiagnosis): Block[] {
  const { readingsTaken, readingsMissing, passed } = verification;
  const result = passed === null ? words.notComplete : passed ? words.passed : words.notPassed;
  const missing = readingsMissing.map(
    ({ from, to, engine, radio }) =>
      `${words.between(pointName(from), pointName(to))}, ${engineWords[engine]}, ${radioWords[radio]}`,
  );
  return [
    { kind: "paragraph", text: `${result} ${words.readingsCount(readingsTaken.length, missing.length)}` },
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
  return [...words.limits, ...cautions, ...(job.rules ? [words.rules(job.rules)] : [])];
}

function restsBlocks(job: Job, stamp: RecordStamp, recordHash: string): Block[] {
  const { hashes, programVersion, madeOn, signedWith } = stamp;
  return [
    { kind: "paragraph", text: words.followed },
    { kind: "paragraph", text: words.madeOn(madeOn, programVersion) },
    ...(job.notes ? [{ kind: "paragraph", text: words.notes(job.notes) } as const] : []),
    { kind: "table", head: words.tables.files, shares: [30, 70], rows: Object.entries(hashes) },
    { kind: "paragraph", text: words.hash(recordHash) },
    ...(signedWith === undefined
      ? []
      : [{ kind: "seal", text: words.sealed(signedWith), code: sealCode(signedWith, recordHash) } as const]),
  ];
}
