/** One finding: how likely, what it costs, what speaks for it (with the stretch of trace), what to do, what to expect after. */
import {
  cautionsForRepair,
  type Finding,
  type Job,
  percent,
  type RoundDiagnosis,
  withInterval,
} from "../../analysis/index.ts";
import { openJob } from "../job/open-job.ts";
import { addressOf } from "../routes.ts";
import { findingTitle } from "./verdict.tsx";

export function FindingCard({
  job,
  round,
  finding,
  open = false,
}: {
  job: Job;
  round: RoundDiagnosis;
  finding: Finding;
  open?: boolean;
}) {
  const cautions = cautionsForRepair(job, finding);
  return (
    <details class="finding" open={open}>
      <summary>
        <span class="finding-title">{findingTitle(job, finding)}</span>
        <span class="finding-share">
          <span class="share-bar" aria-hidden="true">
            <span style={{ width: `${Math.round(finding.probability * 100)}%` }} />
          </span>
          {percent(finding.probability)}
        </span>
      </summary>
      <div class="finding-body">
        <p>{finding.summary}</p>
        {finding.evidence.length > 0 && (
          <>
            <h3>What speaks for it</h3>
            <ul class="notes">
              {finding.evidence.map((sentence) => (
                <li key={sentence}>
                  {sentence} <EvidenceLink round={round} sentence={sentence} />
                </li>
              ))}
            </ul>
          </>
        )}
        {finding.repair && (
          <>
            <h3>What to do</h3>
            <p>{finding.repair}</p>
          </>
        )}
        {cautions.length > 0 && (
          <ul class="cautions" aria-label="Take care">
            {cautions.map(({ text }) => (
              <li key={text}>{text}</li>
            ))}
          </ul>
        )}
        {finding.afterRepair.loadVolts && (
          <p>
            Should read after the repair, at the set, keyed, engine off:{" "}
            <strong class="figure">{withInterval(finding.afterRepair.loadVolts, "V")}</strong>
          </p>
        )}
      </div>
    </details>
  );
}

/** Evidence that names a log leads to its keyed stretch on the traces. */
function EvidenceLink({ round, sentence }: { round: RoundDiagnosis; sentence: string }) {
  const recording = round.recordings.find(({ file }) => sentence.includes(file));
  if (!recording) return null;
  const keyed = recording.plateaus.find(({ radio }) => radio === "transmit") ?? recording.plateaus[0];
  const query: Record<string, string> = keyed
    ? { file: recording.file, from: `${keyed.startSeconds}`, to: `${keyed.endSeconds}` }
    : { file: recording.file };
  return (
    <a class="evidence-link" href={addressOf(openJob.value!.id, "traces", query)}>
      See it in {recording.file}
    </a>
  );
}
