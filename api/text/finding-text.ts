/** The result in a sentence, and each finding with what it costs, what speaks for it and what to do. */
import {
  causeWords,
  cautionsForRepair,
  type Finding,
  type Job,
  percent,
  plainVolts,
  type RoundDiagnosis,
  verdictWords,
  withInterval,
} from "../../analysis/index.ts";
import { wrapped } from "./page.ts";

/** Findings less probable than this are counted, not shown: nobody undoes a joint for one chance in fifty. */
const worthShowing = 0.02;
const mostShown = 5;

export function resultLines(job: Job, { verdict, findings }: RoundDiagnosis): string[] {
  const first = findings[0];
  const result = verdictWords[verdict].toUpperCase();
  if (first === undefined) return wrapped("", `${result}.`);
  const sure = percent(first.probability);
  if (verdict === "sound") return wrapped("", `${result} (${sure} sure).`);
  const what = first.cause === "supply-sound" ? "no part is worse than a sound one" : causeAt(first);
  if (verdict === "undecided") return wrapped("", `${result}: most likely ${what}, but only ${sure} sure.`);
  const lost = first.dropVolts === null ? "" : `, ${plainVolts(first.dropVolts)} lost there when keyed`;
  const minimum = job.load.minimumVolts;
  const reach =
    verdict === "marginal" && minimum !== undefined ? ` The set needs ${minimum} V: see the worst case.` : "";
  return wrapped("", `${result}: ${what}${lost} (${sure} sure).${reach}`);
}

/** 'bad joint at ground-stud', 'bad joint at plug-negative or ground-stud', 'weak battery'. */
function causeAt({ cause, parts }: Finding): string {
  const placed = cause === "high-resistance-connection" || cause === "intermittent-connection";
  return placed && parts.length > 0 ? `${causeWords[cause]} at ${either(parts)}` : causeWords[cause];
}

function either(names: readonly string[]): string {
  if (names.length > 6) return `one of ${names.length} parts, ${names[0]} to ${names.at(-1)}`;
  return names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} or ${names.at(-1)}`;
}

export function findingLines(job: Job, { findings }: RoundDiagnosis): string[] {
  const shown = findings
    .filter(({ probability }, index) => index === 0 || probability >= worthShowing)
    .slice(0, mostShown);
  const said = new Set<string>();
  const lines = shown.flatMap((finding, index) => oneFinding(job, finding, index === 0, said));
  const rest = findings.length - shown.length;
  const others =
    rest > 0 ? wrapped("        ", `${rest} other ${rest === 1 ? "cause is" : "causes are"} less likely still.`) : [];
  return [...lines, ...others];
}

function oneFinding(job: Job, finding: Finding, first: boolean, said: Set<string>): string[] {
  const { cause, probability, dropVolts, summary, evidence, repair, afterRepair } = finding;
  const lines = [...wrapped(percent(probability).padStart(9).concat("  "), causeAt(finding))];
  const add = (lead: string, text: string) => lines.push(...wrapped(`           ${lead}`, text));
  if (summary !== "") add("", summary);
  if (dropVolts !== null && !/\d V\b/.test(summary)) add("Lost there, keyed: ", plainVolts(dropVolts));
  for (const one of first ? evidence : evidence.slice(0, 1)) add("- ", one);
  if (repair !== "") add("Do: ", repair);
  if (cause !== "supply-sound" && afterRepair.loadVolts !== null) {
    add("", `Should read after the repair, at the set, keyed: ${withInterval(afterRepair.loadVolts, "V")}`);
  }
  if (first) for (const { text } of fresh(cautionsForRepair(job, finding), said)) add("! ", text);
  return lines;
}

const fresh = <Said extends { text: string }>(cautions: readonly Said[], said: Set<string>) =>
  cautions.filter(({ text }) => {
    const known = said.has(text);
    said.add(text);
    return !known;
  });
