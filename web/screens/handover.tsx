/** Whether the finished install may be handed over: what speaks against it, and what is still to be measured, a tap from the pad. */
import { engineWords, type ReadingNeeded, type RoundDiagnosis, radioWords } from "../../analysis/index.ts";
import { openJob } from "../job/open-job.ts";
import { addressOf } from "../routes.ts";
import { pointName } from "../words/plain-words.ts";
import { capital } from "../words/shown.ts";

export function Handover({ round, remarks }: { round: RoundDiagnosis; remarks: readonly string[] }) {
  const { readingsMissing, readingsTaken, passed } = round.verification;
  const mark = passed === null ? "?" : passed ? "✓" : "✗";
  return (
    <section class={`sheet handover handover-${passed}`} aria-labelledby="handover-heading">
      <h2 id="handover-heading">
        <span class="handover-mark" aria-hidden="true">
          {mark}
        </span>{" "}
        {passedWords(passed)}
      </h2>
      {remarks.length > 0 && (
        <ul class="notes">
          {remarks.map((remark) => (
            <li key={remark}>{capital(remark)}</li>
          ))}
        </ul>
      )}
      {readingsMissing.length > 0 && (
        <>
          <h3>Still to be measured</h3>
          <ul class="stack missing">
            {readingsMissing.map((reading) => (
              <li key={words(reading)}>
                <a class="button" href={addressOf(openJob.value!.id, "measure", { type: "1", ...reading })}>
                  {words(reading)}
                </a>
              </li>
            ))}
          </ul>
        </>
      )}
      {readingsTaken.length > 0 && (
        <details>
          <summary>{readingsTaken.length} readings are taken</summary>
          <ul class="notes">
            {readingsTaken.map((reading) => (
              <li key={words(reading)}>{words(reading)}</li>
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

function passedWords(passed: boolean | null): string {
  if (passed === null) return "Cannot be handed over yet";
  return passed ? "May be handed over" : "Not to be handed over";
}

const words = ({ from, to, engine, radio }: ReadingNeeded): string =>
  `${pointName(from)} to ${pointName(to)}, ${radioWords[radio]}, ${engineWords[engine]}`;
