/** Find: the verdict in a sentence, the profile with its cliff, what else it could be, what to do, and what to measure next. */
import { useSignal } from "@preact/signals";
import {
  expectedDropVolts,
  expectedParts,
  type Job,
  jobInRound,
  type Q,
  type RoundDiagnosis,
  type StateEntry,
  valueForPrint,
  withInterval,
} from "../../analysis/index.ts";
import { adjusted } from "../charts/profile-shape.ts";
import {
  cancelDiagnosis,
  diagnoseNow,
  diagnosing,
  diagnosis,
  diagnosisTrouble,
  logTroubles,
} from "../job/diagnosis-now.ts";
import { supposedAmps } from "../job/expected.ts";
import { chooseRound, currentRound } from "../job/measuring.ts";
import { job, openJob } from "../job/open-job.ts";
import { saveFile } from "../job/save-file.ts";
import { Segments } from "../pieces/fields.tsx";
import { FindingCard } from "../pieces/finding-card.tsx";
import { NextReadingCard } from "../pieces/next-reading-card.tsx";
import { ProfileView } from "../pieces/profile-view.tsx";
import { ProtectionList } from "../pieces/protection-list.tsx";
import { Verdict, verdictSentence } from "../pieces/verdict.tsx";
import { addressOf, go } from "../routes.ts";
import { nameOfPart } from "../words/reading-words.ts";
import { BetweenPoints } from "./between-points.tsx";
import { FiguresTable, StatesTable } from "./figures-table.tsx";
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
      {round && <RoundResult document={document} round={round} />}
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
    </>
  );
}

function Progress() {
  const now = diagnosing.value;
  const stopped = !now && !diagnosis.value && !diagnosisTrouble.value;
  return (
    <div class="progress" role="status">
      {now && (
        <>
          <progress max={1} value={now.share} aria-label="Weighing the readings" />
          <span>{now.what}</span>
          <button type="button" onClick={cancelDiagnosis}>
            Stop
          </button>
        </>
      )}
      {stopped && (
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

function RoundResult({ document, round }: { document: Job; round: RoundDiagnosis }) {
  const [first, ...others] = round.findings;
  const [next, ...also] = round.nextReadings;
  const declared = jobInRound(document, round.round);
  return (
    <>
      <Verdict job={declared} round={round} />
      <Profile job={declared} round={round} />
      <div class="two-sheets">
        <div class="stack">
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
          {next && <NextReadingCard job={declared} next={next} also={also} />}
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

function Profile({ job, round }: { job: Job; round: RoundDiagnosis }) {
  const chosen = useSignal<readonly string[]>([]);
  const keyed = keyedState(round);
  const amps = keyed?.amps?.value ?? job.load.transmitAmps ?? supposedAmps;
  const expected = new Map(expectedParts(job).map((part) => [part.id, expectedDropVolts([part], amps)]));
  const measured = measuredDrops(round, keyed);
  const tap = (point: string) => {
    const now = chosen.value;
    chosen.value = now.includes(point) ? now.filter((other) => other !== point) : [...now.slice(-1), point];
  };
  return (
    <section aria-labelledby="profile-heading">
      <h2 id="profile-heading">Where the volts go, keyed{amps ? ` at ${amps.toFixed(1)} A` : ""}</h2>
      <p class="field-note">Tap two points for the reading between them.</p>
      <ProfileView
        job={job}
        expectedDropOf={(id) => expected.get(id) ?? null}
        measuredDropOf={(id) => measured.get(id) ?? null}
        probedPoints={new Set(round.verification.readingsTaken.flatMap(({ from, to }) => [from, to]))}
        cliff={cliffOf(job, round, measured)}
        suspects={new Set(round.findings[0]?.parts ?? [])}
        batteryWords={keyed?.batteryVolts ? valueForPrint(keyed.batteryVolts, "V") : ""}
        loadWords={keyed?.loadVolts ? `${valueForPrint(keyed.loadVolts, "V")} for the set` : ""}
        chosen={chosen.value}
        onPoint={tap}
        summary={verdictSentence(job, round)}
      />
      <BetweenPoints
        job={job}
        round={round}
        points={chosen.value}
        onTake={(from, to) => go(addressOf(openJob.value!.id, "measure", { type: "1", from, to }))}
      />
    </section>
  );
}

/** What each part loses, made to agree with what each side loses in all. */
function measuredDrops({ parts, findings }: RoundDiagnosis, keyed: StateEntry | undefined): Map<string, Q> {
  const legDrops = { supply: keyed?.supplyDropVolts ?? null, return: keyed?.returnDropVolts ?? null };
  const suspects = findings[0]?.parts ?? [];
  const suspicion = new Map(
    parts.filter(({ id }) => suspects.includes(id)).map((part) => [part.id, part.faultProbability]),
  );
  return new Map(
    (["supply", "return"] as const).flatMap((leg) => {
      const drops = parts.filter((part) => part.leg === leg).map(({ id, dropVolts }) => [id, dropVolts] as const);
      return [...adjusted(new Map(drops), legDrops[leg], suspicion)];
    }),
  );
}

function keyedState({ states }: RoundDiagnosis): StateEntry | undefined {
  const keyed = states.filter(({ radio, amps }) => radio === "transmit" && amps);
  return keyed.find(({ engine }) => engine === "off") ?? keyed[0];
}

/** The part to hang the tag on: of the first finding's parts, the one that loses most. */
function cliffOf(job: Job, round: RoundDiagnosis, drops: ReadonlyMap<string, Q>): { id: string; label: string } | null {
  const [first] = round.findings;
  if (!first || first.parts.length === 0 || round.verdict === "sound") return null;
  const drop = (id: string): Q => drops.get(id) ?? null;
  const [worst] = [...first.parts].sort((a, b) => (drop(b)?.value ?? 0) - (drop(a)?.value ?? 0));
  const names = first.parts.map((id) => nameOfPart(job, id));
  const name =
    names.length > 2
      ? `${nameOfPart(job, worst!)} or ${names.length - 1} others`
      : names.join(first.cause.includes("connection") ? " or " : " and ");
  const perhaps = round.verdict === "undecided" ? "perhaps " : "";
  const lost = first.parts.length === 1 ? drop(worst!) : null;
  return {
    id: worst!,
    label: `${perhaps}${name} ${lost ? `−${valueForPrint(lost, "V")}` : first.dropVolts ? `−${first.dropVolts.toFixed(2)} V` : ""}`,
  };
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
