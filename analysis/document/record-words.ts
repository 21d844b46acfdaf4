/**
 * All wording of the customer's record, in one place: what a customer and another technician read on paper.
 */
import type { Finding, RoundDiagnosis } from "../diagnosis.ts";
import type { Job } from "../job/job.ts";
import { partsOf } from "../job/route.ts";
import { causeWords } from "../plain-words.ts";
import { percent, plainVolts, withInterval } from "../round-for-print.ts";

export const words = {
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
    parts: "Part by part",
    causes: "Causes considered",
    worst: "Worst case and margin",
    protection: "Protection of the wiring",
    checklist: "Mechanical checklist",
    handover: "Readings of a full verification",
    aware: "To be aware of",
    limits: "Cautions and limits",
    rests: "What this record rests on",
  },
  facts: { customer: "Customer", vehicle: "Vehicle", vehicleId: "Number", set: "Set", technician: "Technician" },
  nothingMeasured: "Nothing has been measured yet.",
  nothingWritten: "No repair is written down in this job.",
  profileCaption:
    "Volts lost along the circuit while keyed, from battery + (left) through the set to battery − (right); each step down is what one part takes. The set's own volts are cut out at the gap.",
  coverage: "± and ranges hold 95 %.",
  followed:
    "The PDF of this record carries the job with every log. Loopwalk opens it, works everything out again and says whether the printed figures follow from the logs.",
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
  if (!first) return "Nothing can be said yet: there are too few readings.";
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
  if (loadVolts === null) return conditions === "" ? "It cannot be worked out yet." : sentence(conditions);
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
