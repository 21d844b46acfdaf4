/** Find: the verdict in a sentence, the profile with its cliff, what else it could be, what to do, and what to measure next. */
import {
  type Diagnosis,
  type Job,
  jobInRound,
  type RoundDiagnosis,
  valueForPrint,
  withInterval,
} from "../../analysis/index.ts";
import {
  diagnoseNow,
  diagnosing,
  diagnosis,
  diagnosisTrouble,
  logTroubles,
  stopDiagnosis,
  stopped,
} from "../job/diagnosis-now.ts";
import { chooseRound, currentRound } from "../job/measuring.ts";
import { job, openJob } from "../job/open-job.ts";
import { saveFile } from "../job/save-file.ts";
import { Segments } from "../pieces/fields.tsx";
import { FindingCard } from "../pieces/finding-card.tsx";
import { NextReadingCard } from "../pieces/next-reading-card.tsx";
import { ProtectionList } from "../pieces/protection-list.tsx";
import { Verdict } from "../pieces/verdict.tsx";
import { addressOf } from "../routes.ts";
import { FiguresTable, StatesTable } from "./figures-table.tsx";
import { FindProfile } from "./find-profile.tsx";
import { RoundComparison } from "./round-comparison.tsx";

export function FindScreen() {
  const document = job.value!;
  const found = diagnosis.value;
  const round = found?.rounds.find((entry) => entry.round === currentRound.value) ?? found?.rounds.at(-1);
  return (
    <>
      <h1 class="out-of-sight">Result</h1>
      <Progress />
      {diagnosisTrouble.value && (
        <p class="notice notice-bad" role="alert">
          {diagnosisTrouble.value}
        </p>
      )}
      {logTroubles.value.map(({ file, message }) => (
        <p key={file} class="notice notice-bad" role="alert">
          {message} The rest was weighed without it.
        </p>
      ))}
      {found && found.rounds.length > 1 && (
        <Segments
          label="Round"
          value={round?.round ?? ""}
          choices={found.rounds.map((entry) => [entry.round, entry.round])}
          onValue={chooseRound}
        />
      )}
      {round && <RoundResult document={document} round={round} earlier={roundBefore(found, round)} />}
      {found && !round && <NothingMeasured />}
      {round && found && (
        <button
          type="button"
          onClick={() => saveFile(`${found.folder}-diagnosis.json`, JSON.stringify(found, null, 2))}
        >
          Save the diagnosis as a file
        </button>
      )}
      {found?.comparison && <RoundComparison document={document} comparison={found.comparison} />}
      {round && (
        <div class="actions">
          <a class="button" href={addressOf(openJob.value!.id, "repair")}>
            Repair and hand-over
          </a>
          <a class="button" href={addressOf(openJob.value!.id, "record")}>
            Leave the record
          </a>
        </div>
      )}
    </>
  );
}

function Progress() {
  const now = diagnosing.value;
  return (
    <div class="progress" role="status">
      {now && (
        <>
          <progress max={1} value={now.share} aria-label="Weighing the readings" />
          <span>{now.what}</span>
          <button type="button" onClick={stopDiagnosis}>
            Stop
          </button>
        </>
      )}
      {stopped.value && (
        <button type="button" onClick={() => void diagnoseNow()}>
          Weigh the readings
        </button>
      )}
    </div>
  );
}

function NothingMeasured() {
  return (
    <p class="notice">
      Nothing has been measured yet. <a href={addressOf(openJob.value!.id, "measure")}>Take the first reading</a>
    </p>
  );
}

interface RoundResultProps {
  readonly document: Job;
  readonly round: RoundDiagnosis;
  /** the round measured before this one; null for the first */
  readonly earlier: RoundDiagnosis | null;
}

const roundBefore = (found: Diagnosis | null, round: RoundDiagnosis): RoundDiagnosis | null =>
  found?.rounds[found.rounds.indexOf(round) - 1] ?? null;

function RoundResult({ document, round, earlier }: RoundResultProps) {
  const [first, ...others] = round.findings;
  const [next, ...also] = round.nextReadings;
  const declared = jobInRound(document, round.round);
  const card = next && <NextReadingCard job={declared} next={next} also={also} />;
  return (
    <>
      <Verdict job={declared} round={round} />
      <FindProfile job={declared} round={round} earlier={earlier} />
      <div class="two-sheets">
        <div class="stack">
          {round.verdict === "undecided" && card}
          {first && <FindingCard job={declared} round={round} finding={first} open />}
          {others.length > 0 && (
            <section aria-labelledby="others-heading" class="stack">
              <h2 id="others-heading">What else it could be</h2>
              {others.map((finding) => (
                <FindingCard
                  key={finding.cause + finding.parts.join()}
                  job={declared}
                  round={round}
                  finding={finding}
                />
              ))}
            </section>
          )}
          {round.verdict !== "undecided" && card}
        </div>
        <div class="stack">
          <WorstCase round={round} />
          <StatesTable states={round.states} />
          <FiguresTable job={declared} round={round} />
          <ProtectionList checks={round.protection} />
          <Warnings round={round} />
        </div>
      </div>
    </>
  );
}

function WorstCase({ round }: { round: RoundDiagnosis }) {
  const { loadVolts, marginVolts, conditions } = round.worstCase;
  if (!loadVolts) return null;
  return (
    <section class="sheet" aria-labelledby="worst-heading">
      <h2 id="worst-heading">On the worst day</h2>
      <p>
        <strong class="figure">{withInterval(loadVolts, "V")}</strong> at the set: {conditions}.
      </p>
      {marginVolts && (
        <p>
          {marginVolts.value < 0 ? "Short of what it needs by" : "To spare above what it needs:"}{" "}
          <strong class="figure">{valueForPrint({ ...marginVolts, value: Math.abs(marginVolts.value) }, "V")}</strong>
        </p>
      )}
    </section>
  );
}

function Warnings({ round }: { round: RoundDiagnosis }) {
  const all = [
    ...round.warnings,
    ...round.recordings.flatMap(({ file, warnings }) =>
      warnings.map((warning) => (warning.startsWith(file) ? warning : `${file}: ${warning}`)),
    ),
  ];
  if (all.length === 0) return null;
  return (
    <section class="sheet" aria-labelledby="warnings-heading">
      <h2 id="warnings-heading">Good to know</h2>
      <ul class="notes">
        {all.map((warning) => (
          <li key={warning}>{warning}</li>
        ))}
      </ul>
    </section>
  );
}
