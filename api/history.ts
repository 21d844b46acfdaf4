/** `history FOLDER …`: the jobs of one vehicle over time, visit by visit, and which part gets worse, in lines to be printed. */
import {
  type PartTrend,
  percent,
  surelyRises,
  type Visit,
  vehicleHistory,
  verdictWords,
  withInterval,
} from "../analysis/index.ts";
import { type DiagnosedJob, diagnoseFolder } from "./diagnose-folder.ts";
import { cell, safe, wrapped } from "./text/page.ts";

export const historyUsage = "npm run --silent diagnose -- history FOLDER_OR_ZIP_OR_RECORD ...";

/** @throws {Problem} where one of them cannot be read: a history with a hole would mislead */
export async function historyLines(paths: readonly string[], onProgress: (what: string) => void): Promise<string[]> {
  const jobs: DiagnosedJob[] = [];
  for (const path of paths) jobs.push(await diagnoseFolder(path, (_, what) => onProgress(`${path}: ${what}`)));
  const history = vehicleHistory(jobs.map(({ job, diagnosis }) => ({ job, diagnosis, fallbackDay: null })));
  const numbers = new Set(jobs.map(({ job }) => job.vehicleId ?? "").filter((number) => number !== ""));
  const sorted = history.trends.toSorted((a, b) => (b.rises ?? 0) - (a.rises ?? 0));
  const going = sorted.filter(({ rises }) => (rises ?? 0) >= surelyRises);
  return [
    ...(numbers.size > 1
      ? wrapped("", `These jobs give more than one vehicle's number: ${[...numbers].map(safe).join(", ")}.`)
      : []),
    "Visits",
    ...history.visits.flatMap((visit) => visitLines(visit, jobs[visit.job]!)),
    "",
    ...wrapped(
      "",
      going.length === 0
        ? "No part is seen to get worse."
        : `Getting worse: ${going.map(({ id }) => safe(id)).join(", ")}.`,
    ),
    ...sorted.flatMap((trend) => trendLines(trend, history.visits)),
  ];
}

function visitLines({ day, round, verdict, loadVolts }: Visit, { job }: DiagnosedJob): string[] {
  const volts = loadVolts === null ? "" : `; ${withInterval(loadVolts, "V")} at the set, keyed`;
  return wrapped(
    `  ${cell(day ?? "no day", 12)}`,
    `${safe(job.title)}, ${safe(round)}: ${verdictWords[verdict]}${volts}`,
  );
}

function trendLines(trend: PartTrend, visits: readonly Visit[]): string[] {
  const figures = visits.map(({ ohms }) => withInterval(ohms.get(trend.id) ?? null, "Ω")).join(", ");
  return [...wrapped(`  ${cell(safe(trend.id), 18)}`, figures), ...wrapped(`  ${cell("", 18)}`, trendWords(trend))];
}

function trendWords({ ohmsPerYear, rises, reachesLimitOn, over }: PartTrend): string {
  if (ohmsPerYear === null || rises === null) return "no trend: fewer than two dated visits since it was last renewed";
  if (rises < surelyRises) return `not seen to rise over ${over.length} visits`;
  const until = reachesLimitOn === null ? "" : `; at this rate more than the trade allows from about ${reachesLimitOn}`;
  return `rises ${withInterval(ohmsPerYear, "Ω")} a year (${percent(rises)} sure)${until}`;
}
