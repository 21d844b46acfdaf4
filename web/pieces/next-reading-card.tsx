/** One card says the next reading: where each probe goes, what engine and set do, what to take care of, and why. */
import { cautionsForReading, type Job, type NextReading } from "../../analysis/index.ts";
import { addLogs, cannotReach, currentRound } from "../job/measuring.ts";
import { openJob } from "../job/open-job.ts";
import { addressOf, go } from "../routes.ts";
import { pointName } from "../words/plain-words.ts";
import { nameOfPart, placeOf, stateToTake } from "../words/reading-words.ts";
import { CautionList } from "./caution-list.tsx";
import { FileButton } from "./file-button.tsx";
import { ProbeDrawing, ProbeWords } from "./probe-drawing.tsx";

export function NextReadingCard({
  job,
  next,
  also = [],
}: {
  job: Job;
  next: NextReading;
  also?: readonly NextReading[];
}) {
  const cautions = cautionsForReading(job, next);
  return (
    <section class="next-card" aria-labelledby="next-heading">
      <h2 id="next-heading">Next reading</h2>
      <div class="next-place">
        <ProbeWords job={job} place={next} />
        <ProbeDrawing job={job} place={next} />
      </div>
      <p class="next-state">{stateToTake(next)}</p>
      {next.bypassed && (
        <p class="next-state">
          With a heavy jumper round {next.bypassed.map((id) => nameOfPart(job, id)).join(" and ")}.
        </p>
      )}
      <CautionList cautions={cautions} />
      <div class="actions">
        <button type="button" class="main-action" onClick={() => type(next)}>
          Type the number
        </button>
        <FileButton words="Open its log" onFiles={(files) => void addLogs(files, placed(next))} />
      </div>
      <div class="actions">
        {[next.from, next.to].map(
          (point) =>
            point && (
              <button key={point} type="button" class="plain" onClick={() => cannotReach(point)}>
                Can’t reach {pointName(point)}
              </button>
            ),
        )}
      </div>
      <p class="field-note">Why: {next.why}</p>
      {also.length > 0 && (
        <details>
          <summary>Or instead</summary>
          <ul class="also">
            {also.map((other) => (
              <li key={placeOf(job, other) + other.engine + other.radio}>
                <button type="button" class="card-button" onClick={() => type(other)}>
                  <strong>{placeOf(job, other)}</strong>
                  <span>
                    {stateToTake(other)} {other.why}
                  </span>
                </button>
              </li>
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

const placed = ({ from, to, through }: NextReading) => ({
  ...(through === undefined ? { from, to, quantity: "volts" as const } : { through, quantity: "amps" as const }),
  round: currentRound.value,
});

function type({ from, to, through, engine, radio, drawnBy }: NextReading): void {
  const fields = { type: "1", from, to, through, engine, radio, drawnBy };
  const query = Object.fromEntries(
    Object.entries(fields).filter((entry): entry is [string, string] => entry[1] !== undefined),
  );
  go(addressOf(openJob.value!.id, "measure", query));
}
