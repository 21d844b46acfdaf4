/**
 * A job as it may be shown to others: whose it is and where it stands are in no byte of it.
 * Goes in: the files of a job folder. Comes out: the same job without them, and what was left out, in words.
 *
 * Left out altogether: customer, vehicle, its number, notes, the title (a neutral one stands for it), signatures, fields that
 * this program does not know, what a camera wrote into photos, and files that the job does not name. Their words (the
 * customer's name and address word by word, the number, words of the vehicle that hold a digit) are blanked wherever else
 * they stand: in other texts, in names of files, rounds and parts, and inside the logs. The technician, the circuit, the
 * readings and the days stay. What a photo shows cannot be judged here, nor names that the job does not give as the customer's.
 */
import { knownFields } from "../job/field-rule.ts";
import { type Job, JobSchema, PartSchema, parseJob } from "../job/job.ts";
import { Problem } from "../problem.ts";
import { type BlankedWords, blankedWords } from "./blanked-words.ts";
import { withoutPlace } from "./photo.ts";
import { words } from "./record-words.ts";

export interface SharedJob {
  readonly files: Map<string, Uint8Array>;
  /** what is not in them, in words, one entry a thing */
  readonly leftOut: readonly string[];
}

/** @throws {Problem} where job.json is not there or is no job */
export function withoutCustomer(files: ReadonlyMap<string, Uint8Array>): SharedJob {
  const text = files.get("job.json");
  if (text === undefined) throw new Problem("there should be a job.json", { file: "job.json" });
  const { job } = parseJob(new TextDecoder().decode(text));
  const blank = blankedWords(tellingWords(job));
  const photos = new Set(job.rounds.flatMap((round) => (round.photos ?? []).map(fileOf)));
  const logs = new Set(job.recordings.map(({ file }) => file));
  const names = newNames([...logs, ...photos], blank);
  const shared = new Map<string, Uint8Array>();
  const leftOut: string[] = leftOutFields(job);
  for (const [name, bytes] of files) {
    if (!logs.has(name) && !photos.has(name)) continue;
    const clean = logs.has(name) ? blank.inBytes(bytes) : withoutPlace(bytes);
    if (clean) shared.set(names.get(name)!, clean);
    if (clean === null) leftOut.push(words.leftOut.photo(names.get(name)!));
    else if (logs.has(name) && clean !== bytes) leftOut.push(words.leftOut.inLog(names.get(name)!));
  }
  const gone = new Set([...photos].filter((photo) => !shared.has(names.get(photo)!)));
  const sharedJob = sharedJobOf(job, blank, names, gone);
  parseJob(JSON.stringify(sharedJob));
  return {
    files: new Map([["job.json", new TextEncoder().encode(`${JSON.stringify(sharedJob, null, 2)}\n`)], ...shared]),
    leftOut,
  };
}

const fileOf = (photo: string | { file: string }): string => (typeof photo === "string" ? photo : photo.file);

function leftOutFields(job: Job): string[] {
  const { fields } = words.leftOut;
  const named = (["customer", "vehicle", "vehicleId", "notes", "title"] as const).filter((field) => job[field]);
  return [...named.map((field) => fields[field]), ...(job.signatures?.length ? [fields.signatures] : [])];
}

/** Words that belong to no one: what a name has in common with any text, and what the trade and this format are written in. */
const commonWords = new Set(
  (
    "the and for with from not was are his her our der die das und von vom zum mit les des del los las ltd inc gmbh llc mrs miss " +
    "battery load feed wire fuse ground body chassis radio set meter plug stud strap lug lead return before after volts volt amps " +
    "amp transmit idle engine off running handheld clamp main switch relay bus bar terminal splice bracket antenna cable log logs " +
    "csv txt tsv json jpg jpeg png photo time date seconds channel value read note"
  ).split(" "),
);

const hasLetter = /\p{L}/u;

/** What would tell whose job it is. Digits alone are no name: the logs are made of them. */
function tellingWords(job: Job): string[] {
  const { customer = "", vehicleId = "", vehicle = "" } = job;
  const strange = Object.entries(job).filter(([field]) => !Object.hasOwn(JobSchema.entries, field));
  const said = [customer, ...textsIn(strange.map(([, value]) => value))];
  const parts = said.flatMap((text) => text.split(/[^\p{L}\p{M}\p{N}]+/u));
  const marks = vehicle.split(/\s+/).filter((word) => /\p{N}/u.test(word));
  return [...said.map((text) => text.trim()), ...parts, vehicleId.trim(), ...marks].filter(
    (word) => word.length >= 3 && hasLetter.test(word) && !commonWords.has(word.toLowerCase()),
  );
}

const textsIn = (value: unknown): string[] =>
  typeof value === "string"
    ? [value]
    : typeof value === "object" && value !== null
      ? Object.values(value).flatMap(textsIn)
      : [];

/** Names with their words blanked, each still a name of its own. */
function newNames(names: readonly string[], blank: BlankedWords): Map<string, string> {
  const taken = new Set<string>();
  const given = new Map<string, string>();
  for (const name of names) {
    const [, stem = "", ending = ""] = /^(.*?)(\.[^.]*)?$/.exec(blank.inText(name)) ?? [];
    let free = stem + ending;
    for (let number = 2; taken.has(free); number++) free = `${stem}-${number}${ending}`;
    taken.add(free);
    given.set(name, free);
  }
  return given;
}

/** Texts that are nobody's words: days, how a log is read, and fields that hold one of a few known words. */
const plainFields = new Set(
  (
    "format date takenAt startTime calibratedOn recheckDue delimiter decimal unit part style material gaugeSystem unknown engine " +
    "radio drawnBy rfInto held quantity by setting type kind charging fedFrom fusedLegs emission reach"
  ).split(" "),
);
const plainTexts = new Set(["battery+", "battery-", "load+", "load-"]);

function sharedJobOf(
  job: Job,
  blank: BlankedWords,
  names: ReadonlyMap<string, string>,
  gone: ReadonlySet<string>,
): unknown {
  const {
    customer: _,
    vehicle: __,
    vehicleId: ___,
    notes: ____,
    signatures: _____,
    ...known
  } = knownFields(JobSchema, job) as Job;
  const rounds = job.rounds.map((round, index) => ({
    ...known.rounds[index]!,
    ...(round.changed && { changed: round.changed.map(knownChange) }),
    ...(round.photos && { photos: known.rounds[index]!.photos?.filter((photo) => !gone.has(fileOf(photo))) }),
  }));
  const recordings = known.recordings.map(({ sha256: ______, ...recording }) => recording);
  const title = job.load.label ? words.leftOut.titleOf(job.load.label) : words.kind;
  return blanked({ ...known, title, recordings, rounds }, blank, names, "");
}

/** A changed part may have any field that a part of some kind has. */
const partFields = new Set(PartSchema.options.flatMap(({ entries }) => Object.keys(entries)));
const knownChange = (change: object): object =>
  Object.fromEntries(Object.entries(change).filter(([field]) => partFields.has(field)));

function blanked(value: unknown, blank: BlankedWords, names: ReadonlyMap<string, string>, field: string): unknown {
  if (typeof value === "string") {
    if (plainFields.has(field) || plainTexts.has(value)) return value;
    return names.get(value) ?? blank.inText(value);
  }
  if (Array.isArray(value)) return value.map((one) => blanked(one, blank, names, field));
  if (typeof value !== "object" || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, inner]) => [
      field === "checks" ? blank.inText(key) : key,
      blanked(inner, blank, names, key),
    ]),
  );
}
