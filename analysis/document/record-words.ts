/**
 * All wording of the customer's record, in one place: what a customer and another technician read on paper.
 * A second language is a second object of this shape. (What findings, checks and cautions say comes with the diagnosis.)
 */
import type { Finding, RoundDiagnosis } from "../diagnosis.ts";
import type { Job } from "../job/job.ts";
import { partsOf } from "../job/route.ts";
import { causeWords } from "../plain-words.ts";
import { percent, plainVolts, withInterval } from "../round-for-print.ts";

export const words = {
  language: "en",
  kind: "Record of a 12 V supply",
  untitled: "Job without a title",
  headings: {
    wrong: "What was wrong",
    found: "What was found",
    done: "What was done",
    now: "What it measures now",
    measured: "What it measures",
    profile: "Where the volts go",
    readings: "What was measured",
    meters: "Meters and their stated accuracy",
    parts: "Part by part",
    causes: "Causes considered",
    worst: "Worst case and margin",
    protection: "Protection of the wiring",
    checklist: "Mechanical checklist",
    photos: "Photos",
    handover: "Readings of a full verification",
    aware: "To be aware of",
    limits: "Cautions and limits",
    signed: "Signed",
    rests: "What this record rests on",
  },
  facts: {
    customer: "Customer",
    vehicle: "Vehicle",
    vehicleId: "Number",
    set: "Set",
    technician: "Technician",
    made: "Record made",
  },
  tables: {
    protection: ["Part", "Check", "Result", "Figures", "Source"],
    checklist: ["Question", "Answer"],
    files: ["File", "SHA-256"],
    states: ["State", "Battery", "At the set", "Current", "Lost, feed side", "Lost, ground side"],
    readings: ["Reading", "State", "Value as read", "Meter", "From"],
    meters: ["Meter", "Volts", "Amps", "Calibrated on"],
    parts: ["Part", "What it is", "Side", "Sound one", "Measured", "Takes, keyed"],
    causes: ["Cause", "Probability", "Takes, keyed", "Should read after the repair, at the set"],
  },
  changes: (from: string, to: string) => ["Part", `Ohms ${from}`, `Ohms ${to}`, "Change is real"],
  inRound: (heading: string, round: string) => `${heading}: ${round}`,
  fact: (name: string, value: string) => `${name}: ${value}`,
  toDo: (repair: string) => `To do: ${repair}`,
  nothingMeasured: "Nothing has been measured yet.",
  nothingWritten: "No repair is written down in this job.",
  nothingSaid: "Nothing can be said yet: there are too few readings.",
  noWorstCase: "It cannot be worked out yet.",
  gained: (volts: string) => `At the set, keyed: ${volts} gained by the repair.`,
  whileKeyed: (figures: string) => `While keyed: ${figures}.`,
  atSet: (volts: string) => `${volts} at the set`,
  atBattery: (volts: string) => `${volts} at the battery`,
  lostFeed: (volts: string) => `${volts} lost on the feed side`,
  lostGround: (volts: string) => `${volts} lost on the ground side`,
  isNow: (part: string, fields: string) => (fields === "" ? `${part} was renewed` : `${part} is now: ${fields}`),
  profileCaption:
    "Volts lost along the circuit while keyed, from battery + (left) through the set to battery − (right); each step down is what one part takes. The set's own volts are cut out at the gap.",
  expected: "expected of sound parts",
  set: "set",
  coverage: "Worked out from all readings together. ± and ranges hold 95 %.",
  battery: (figures: string) => `Battery: ${figures}.`,
  atRest: (volts: string) => `at rest ${volts}`,
  ownResistance: (ohms: string) => `own resistance ${ohms}`,
  engineRunning: (volts: string) => `engine running ${volts}`,
  range: (low: string, high: string, unit: string) => `${low} to ${high} ${unit}`,
  between: (from: string, to: string) => `${from} to ${to}`,
  clampOn: (part: string) => `clamp on ${part}`,
  ripple: (volts: number) => `${volts} V ripple`,
  typed: "typed",
  held: (extreme: string) => `typed, ${extreme} held`,
  stateNotKnown: "not known",
  meterNotNamed: "not named",
  feet: (feet: number) => `, ${feet} ft`,
  wholeRun: "whole run",
  yes: "yes",
  no: "NO",
  notAnswered: "not answered",
  answeredEarlier: (answer: string, round: string) => `${answer} in '${round}'; not tested since`,
  notComplete: "Not complete: something is still to be measured, checked or too uncertain to tell.",
  passed: "Passed.",
  notPassed: "Not passed: something speaks against it.",
  readingsCount: (taken: number, missing: number) => `${taken} readings taken, ${missing} still missing.`,
  photoMissing: (file: string) => `${file}: the photo is not in the job folder.`,
  photoUnreadable: (file: string) => `${file}: carried inside; it is no JPEG or PNG that can be printed.`,
  photoUntold: (round: string) => `Round ${round}`,
  rules: (rules: string) => `Rules that apply: ${rules}`,
  notes: (notes: string) => `Notes: ${notes}`,
  made: (day: string, version: string) => `${day}, Loopwalk ${version}`,
  madeOn: (day: string, version: string) => `Made on ${day} by Loopwalk ${version}.`,
  followed:
    "The PDF of this record carries the job with every log. Loopwalk opens it, works everything out again and says whether the printed figures follow from the logs.",
  hash: (hash: string) => `Hash of all of it (SHA-256 of the list of files and how the record was made): ${hash}`,
  sealed: (key: string) =>
    `Signed by the program with the key of the shop, ${key} (Ed25519). The code beside this holds the key and the hash: compare the key with the one that the shop gives out. A file altered by one byte no longer fits its signature.`,
  sealShows: "Code with the key of the shop and the hash of this record",
  signers: { technician: "Technician", customer: "Customer" },
  signedBy: (who: string, name: string, day: string) => [who, name, day].filter((word) => word !== "").join(", "),
  signedThis: "signed what stands here",
  signedEarlier: "signed before the job was last changed",
  leftOut: {
    fields: {
      customer: "the customer",
      vehicle: "the vehicle",
      vehicleId: "its number",
      notes: "the notes",
      title: "the title",
      signatures: "signatures",
    },
    photo: (file: string) => `${file}, a picture in a format that cannot be cleaned of its place`,
    inLog: (file: string) => `words of the customer inside ${file}, an x for each letter`,
    titleOf: (load: string) => `12 V supply of ${load}`,
  },
  page: (number: number, of: number) => `Page ${number} of ${of}`,
  limits: [
    "This record says what was measured on this vehicle or boat at the time of the logs, with the meters named; it is no promise for joints that loosen or corrode later.",
    "Dips shorter than the interval of a log can have passed unseen.",
    "The program advises and the person decides: the makers' instructions, local codes and licensed practice come first.",
  ],
} as const;

/** 'ground-stud' → 'ground stud'; a label where the job has one. */
export function partName(job: Pick<Job, "loop">, id: string): string {
  return partsOf(job).find((part) => part.id === id)?.label || id.replaceAll(/[-_]/g, " ");
}

/** 'point' names as they are spoken of: 'load-' → 'load −', 'fuse-out' → 'fuse out'. */
export const pointName = (point: string): string =>
  point
    .replace(/(\w)\+$/, "$1 +")
    .replace(/(\w)-$/, "$1 −")
    .replaceAll(/[-_](?=\w)/g, " ");

/** 'Bad joint at ground stud or plug negative'. */
export function findingName(job: Job, { cause, parts }: Finding): string {
  const placed = cause === "high-resistance-connection" || cause === "intermittent-connection";
  const names = parts.map((id) => partName(job, id));
  return capital(causeWords[cause]) + (placed && names.length > 0 ? ` at ${either(names)}` : "");
}

export function either(names: readonly string[]): string {
  if (names.length > 4) return `one of ${names.length} parts, ${names[0]} to ${names.at(-1)}`;
  return names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} or ${names.at(-1)}`;
}

export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** The result of a round in a sentence, with how sure it is. */
export function resultSentence(job: Job, { verdict, findings }: RoundDiagnosis): string {
  const [first] = findings;
  if (!first) return words.nothingSaid;
  const sure = percent(first.probability);
  if (verdict === "sound") return `The feed is good: no part is worse than a sound one of its kind (${sure} sure).`;
  if (first.cause === "supply-sound")
    return verdict === "marginal"
      ? `No part is worse than a sound one of its kind (${sure} sure), but there is little to spare.`
      : `Not enough readings yet to tell; most likely no part is worse than a sound one (${sure} sure).`;
  const what = findingName(job, first);
  if (verdict === "undecided") return `Not enough readings yet to tell; most likely: ${lower(what)} (${sure} sure).`;
  const lost = first.dropVolts === null ? "" : `, which takes ${plainVolts(first.dropVolts)} while keyed`;
  return `${what}${lost} (${sure} sure).`;
}

const lower = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);

/** What the set gets in the worst case, against what it needs. */
export function worstCaseSentence(job: Job, { worstCase }: RoundDiagnosis): string {
  const { loadVolts, marginVolts, conditions } = worstCase;
  if (loadVolts === null) return conditions === "" ? words.noWorstCase : sentence(conditions);
  const minimum = job.load.minimumVolts;
  const margin =
    marginVolts === null || minimum === undefined
      ? ""
      : `; ${withInterval(upright(marginVolts), "V")} ${marginVolts.value < 0 ? "under" : "above"} the ${minimum} V that it needs`;
  return `In the worst case the set still gets ${withInterval(loadVolts, "V")}${margin}. ${sentence(conditions)}`.trim();
}

/** A margin below zero is spoken of as so many volts under. */
const upright = (margin: { value: number; low: number; high: number; uncertainty: number }) =>
  margin.value < 0 ? { ...margin, value: -margin.value, low: -margin.high, high: -margin.low } : margin;

export const sentence = (text: string): string => (text === "" ? "" : `${capital(text).replace(/\.$/, "")}.`);

export function heldSentence(held: boolean | null): string {
  if (held === null) return "Whether the repair held cannot be told yet.";
  return held
    ? "The repair held: the fault is gone, and the set has the volts that were forecast."
    : "The repair did not hold: the fault is still likely, or the set has not the volts that were forecast.";
}

export const passWords = (pass: boolean | null): string => (pass === null ? "open" : pass ? "passes" : "FAILS");
