/**
 * The job as `formats.md` section 1 fixes it: one installation with all that was measured on it.
 * Goes in: the text of job.json. Comes out: a checked job with what to warn of, or a Problem that names the field.
 */
import * as v from "valibot";
import { Problem } from "../problem.ts";
import { checkWire, crossCheck } from "./cross-checks.ts";
import { fieldName, inShort, type Key, ruleInWords, unknownFields } from "./field-rule.ts";
import { type Job, JobSchema, PartSchema } from "./job-schema.ts";
import { parseJson } from "./json-text.ts";
import { changedItem } from "./round.ts";
import { isPoint } from "./route.ts";

export * from "./job-schema.ts";

export interface CheckedJob {
  readonly job: Job;
  /** what was found odd but can stand: fields nobody knows, meters without stated accuracy */
  readonly warnings: string[];
}

/** Longest job.json that is read, in characters: some hundred times the largest real one. */
const longestText = 8_000_000;
/** Deepest nesting of lists and objects in a job, unknown fields included. */
const deepest = 32;

/**
 * Reads and checks the text of a job.json.
 * @param file what an error calls it
 * @throws {Problem} naming file and line where it is not JSON, file and field where it is no job
 */
export function parseJob(text: string, file = "job.json"): CheckedJob {
  if (text.length > longestText) {
    throw new Problem(`should be at most ${longestText} characters long; got ${text.length}`, { file });
  }
  return checkJob(parseJson(text, file), file);
}

/**
 * Checks a value that should be a job: shape, ranges, and everything that one field says of another.
 * Fields that nobody knows stay in the job and are named in a warning.
 * @throws {Problem} naming file and field of the first thing wrong, what was found and what would be right
 */
export function checkJob(value: unknown, file = "job.json"): CheckedJob {
  try {
    return checked(value);
  } catch (error) {
    throw error instanceof Problem ? error.at({ file }) : error;
  }
}

function checked(value: unknown): CheckedJob {
  if (typeof value !== "object" || value === null || Array.isArray(value)) {
    throw new Problem(`should hold one job as an object in braces; got ${inShort(value)}`);
  }
  checkNesting(value);
  checkVersion(value);
  const job = shaped(JobSchema, value, []);
  crossCheck(job);
  const unknown = [
    ...unknownFields(JobSchema, job).filter((field) => !/\.changed\[\d+\]\./.test(field)),
    ...checkChanges(job),
  ];
  return { job, warnings: [...unknownFieldsWarning(unknown), ...meterWarnings(job)] };
}

/** Depth is bounded, and a name that would reach an object's prototype is refused, before anything walks the value. */
function checkNesting(value: object): void {
  const waiting: { here: object; path: Key[] }[] = [{ here: value, path: [] }];
  for (let next = waiting.pop(); next; next = waiting.pop()) {
    const { here, path } = next;
    if (path.length >= deepest) {
      throw new Problem(`should be nested at most ${deepest} deep; got more`, { field: fieldName(path) });
    }
    for (const [key, inner] of Object.entries(here)) {
      const inside = [...path, Array.isArray(here) ? Number(key) : key];
      if (key === "__proto__")
        throw new Problem("should have another name; this one is kept from use", { field: fieldName(inside) });
      if (typeof inner === "object" && inner !== null) waiting.push({ here: inner, path: inside });
    }
  }
}

function checkVersion(value: object): void {
  const format = "format" in value ? value.format : undefined;
  if (format === "job/1") return;
  const known = "'job/1', the version that this program reads";
  throw new Problem(`should be ${known}; got ${inShort(format)}`, { field: "format" });
}

function shaped<Schema extends v.GenericSchema>(schema: Schema, value: unknown, path: Key[]): v.InferOutput<Schema> {
  const result = v.safeParse(schema, value, { abortEarly: true });
  if (result.success) return result.output;
  const [issue] = result.issues;
  const inside = (issue.path ?? []).map(({ key }) => key as Key);
  const expected = ruleInWords(schema, value, inside) ?? issue.expected;
  const field = fieldName([...path, ...inside]);
  throw new Problem(`should be ${expected}; got ${inShort(valueAt(value, inside))}`, field === "" ? {} : { field });
}

const valueAt = (value: unknown, path: readonly Key[]): unknown =>
  path.reduce<unknown>((here, key) => (here as Record<Key, unknown> | undefined)?.[key], value);

/** A part must still be a part after each change; returns the changed fields that no such part has. */
function checkChanges(job: Job): string[] {
  const unknown: string[] = [];
  const now = new Map(
    job.loop.flatMap((item) => (isPoint(item) || item.id === undefined ? [] : [[item.id, item] as const])),
  );
  job.rounds.forEach((round, index) => {
    round.changed?.forEach((change, place) => {
      const path = ["rounds", index, "changed", place];
      const item = shaped(PartSchema, changedItem(now.get(change.id)!, change), path);
      if (item.part === "wire") checkWire(item, fieldName(path));
      now.set(change.id, item);
      const strange = unknownFields(PartSchema, item).filter((field) => Object.hasOwn(change, field));
      unknown.push(...strange.map((field) => `${fieldName(path)}.${field}`));
    });
  });
  return unknown;
}

function unknownFieldsWarning(fields: readonly string[]): string[] {
  if (fields.length === 0) return [];
  return [`job.json: not known to this program, kept and otherwise ignored: ${listed(fields)}`];
}

/** A reading whose meter states no accuracy for its quantity can stand, with that of an ordinary meter. */
function meterWarnings(job: Job): string[] {
  const measured = [
    ...job.recordings.map(({ meter, quantity }) => ({ meter, quantity })),
    ...job.readings.map(({ meter, amps }) => ({ meter, quantity: amps === undefined ? "volts" : "amps" }) as const),
  ];
  const unstated = measured.flatMap(({ meter, quantity }) =>
    meter === undefined || job.meters.some(({ id, ...ranges }) => id === meter && ranges[quantity])
      ? []
      : `'${meter}' (${quantity})`,
  );
  if (unstated.length === 0) return [];
  const named = listed([...new Set(unstated)]);
  return [`job.json: no accuracy is stated under meters for ${named}: that of an ordinary handheld meter is assumed`];
}

const listed = (names: readonly string[]) =>
  names.length > 5 ? `${names.slice(0, 5).join(", ")} and ${names.length - 5} more` : names.join(", ");
