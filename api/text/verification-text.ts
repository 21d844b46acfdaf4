/** Whether an install may be handed over: worst case, protection checks, readings still missing. */
import {
  engineWords,
  type Job,
  pointWords,
  type ReadingNeeded,
  type RoundDiagnosis,
  radioWords,
  withInterval,
} from "../../analysis/index.ts";
import { wrapped } from "./page.ts";

export function worstCaseLines(job: Job, { worstCase }: RoundDiagnosis): string[] {
  const { loadVolts, marginVolts, conditions } = worstCase;
  if (loadVolts === null) return conditions === "" ? [] : wrapped("  ", conditions);
  const minimum = job.load.minimumVolts;
  const margin =
    marginVolts === null || minimum === undefined
      ? ""
      : `, ${withInterval({ ...marginVolts, ...upright(marginVolts) }, "V")} ${marginVolts.value < 0 ? "under" : "above"} the ${minimum} V it needs`;
  return wrapped("  ", `${withInterval(loadVolts, "V")} at the set${margin}. ${upperFirst(conditions)}`);
}

const upperFirst = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);

/** A margin below zero is spoken of as so many volts under. */
const upright = ({ value, low, high }: { value: number; low: number; high: number }) =>
  value < 0 ? { value: -value, low: -high, high: -low } : { value, low, high };

/** What fails first, then what cannot be told, each with its figures and source; what passes by name. */
export function protectionLines({ protection }: RoundDiagnosis): string[] {
  const rank = (pass: boolean | null) => (pass === false ? 0 : pass === null ? 1 : 2);
  const mark = (pass: boolean | null) => (pass === false ? "  FAILS  " : pass === null ? "  open   " : "  ok     ");
  return [...protection]
    .sort((a, b) => rank(a.pass) - rank(b.pass))
    .flatMap(({ part, check, pass, detail, source }) => [
      ...wrapped(mark(pass), `${part}: ${check}`),
      ...(pass === true ? [] : [...wrapped("         ", detail), ...wrapped("         ", `(${source})`)]),
    ]);
}

export function verificationLines({ verification }: RoundDiagnosis): string[] {
  const { readingsTaken, readingsMissing, passed } = verification;
  if (readingsTaken.length + readingsMissing.length === 0) return [];
  const result = passed === true ? "Passed. " : passed === false ? "Not passed. " : "";
  const missing = readingsMissing.slice(0, 6).map(neededWords);
  const more = readingsMissing.length - missing.length;
  return [
    ...wrapped("  ", `${result}${readingsTaken.length} taken, ${readingsMissing.length} still missing.`),
    ...missing.flatMap((words) => wrapped("  - ", words)),
    ...(more > 0 ? wrapped("    ", `and ${more} more`) : []),
  ];
}

export const neededWords = ({ from, to, engine, radio }: ReadingNeeded) =>
  `${pointWords(from)} to ${pointWords(to)}, ${engineWords[engine]}, ${radioWords[radio]}`;
