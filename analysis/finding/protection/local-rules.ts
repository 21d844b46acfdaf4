/**
 * The code that applies to this job, where it names one that stands in none of the checks.
 */
import type { Job } from "../../job/job.ts";
import type { ProtectionCheck } from "./check.ts";

/** Codes whose figures are built in, wholly or in part. */
const known = /33 ?CFR|47 ?CFR|ABYC|ISO 10133|ISO 13297/i;

/** Whether the code that applies is the standard for small craft of the metric countries. */
export const namesIso = (rules: string): boolean => /ISO ?(10133|13297)/i.test(rules);

export function localRulesCheck(job: Job): ProtectionCheck[] {
  const rules = job.rules?.trim() ?? "";
  if (rules === "" || known.test(rules)) return [];
  return [
    {
      part: "",
      check: "rules that apply here",
      pass: null,
      detail: `'${rules}' is declared; its figures are not built in and should be checked by hand: it comes before anything said here`,
      source: "local codes and licensed practice come first",
    },
  ];
}
