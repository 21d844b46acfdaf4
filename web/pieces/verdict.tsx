/** The result in a sentence: what it is, where, and what it costs. */
import {
  causeWords,
  type Finding,
  type Job,
  percent,
  plainVolts,
  type RoundDiagnosis,
  verdictWords,
} from "../../analysis/index.ts";
import { nameOfPart } from "../words/reading-words.ts";
import { capital } from "../words/shown.ts";

const marks = { fault: "✗", marginal: "!", sound: "✓", undecided: "?" } as const;

/** More characters than this are set smaller, so that the picture below stays in sight on a phone. */
const longSentence = 110;

export function Verdict({ job, round }: { job: Job; round: RoundDiagnosis }) {
  const sentence = verdictSentence(job, round);
  return (
    <section class={`verdict verdict-${round.verdict}`} aria-label="Result in a sentence" role="status">
      <span class="verdict-mark" aria-hidden="true">
        {marks[round.verdict]}
      </span>
      <div>
        <p class="verdict-word">{verdictWords[round.verdict]}</p>
        <p class={`verdict-sentence ${sentence.length > longSentence ? "verdict-long" : ""}`}>{sentence}</p>
      </div>
    </section>
  );
}

export function verdictSentence(job: Job, { verdict, findings }: RoundDiagnosis): string {
  const [first] = findings;
  if (!first) return "Nothing can be said yet.";
  if (verdict === "undecided")
    return `Nearest guess: ${findingTitle(job, first)}, ${percent(first.probability)}. One more reading tells more.`;
  return first.summary;
}

/** 'plug or stud', 'plug, stud or strap', 'one of 6 joints'. */
export function oneOf(names: readonly string[]): string {
  if (names.length > 3) return `one of ${names.length} joints`;
  return names.length < 2 ? (names[0] ?? "") : `${names.slice(0, -1).join(", ")} or ${names.at(-1)}`;
}

/** 'Bad joint: ground stud, 0.55 V'. */
export function findingTitle(job: Job, { cause, parts, dropVolts }: Finding): string {
  const where = cause.includes("connection") ? oneOf(parts.map((id) => nameOfPart(job, id))) : "";
  return [capital(causeWords[cause]) + (where ? `: ${where}` : ""), dropVolts === null ? "" : plainVolts(dropVolts)]
    .filter(Boolean)
    .join(", ");
}
