/**
 * One log: what the reader made of it, or its sentence where it refuses; where the probes were; every decision can be overridden.
 */
import { useEffect, useState } from "preact/hooks";
import { type Job, partsOf, type Recording } from "../../analysis/index.ts";
import {
  changeDraftRecording,
  changeRecording,
  currentRound,
  draftRecording,
  placeRecording,
  removeLog,
  removeRecording,
  rounds,
} from "../job/measuring.ts";
import { job, openJob } from "../job/open-job.ts";
import { ChoiceField } from "../pieces/fields.tsx";
import { addressOf } from "../routes.ts";
import { placeOf } from "../words/reading-words.ts";
import { bytes, clock, count } from "../words/shown.ts";
import type { LogAccount } from "../worker/log-bench.ts";
import { clerk } from "../worker/workers.ts";
import { OverrideFields } from "./override-fields.tsx";
import { isPlaced, meterChoices, PlaceFields } from "./place-fields.tsx";

export function LogCard({ file, trouble }: { file: string; trouble: string | null }) {
  const document = job.value!;
  const stored = openJob.value!.files[file];
  const placed = document.recordings
    .map((recording, index) => ({ recording, index }))
    .filter(({ recording }) => recording.file === file);
  const [another, setAnother] = useState(false);
  return (
    <article class="log-card" aria-label={file}>
      <header>
        <h3>{file}</h3>
        <span class="field-note">{stored && bytes(stored.bytes)}</span>
        <button type="button" aria-label={`Delete ${file}`} onClick={() => removeLog(file)}>
          Delete
        </button>
      </header>
      {trouble && placed.length > 0 && (
        <p class="notice notice-bad" role="alert">
          {trouble}
        </p>
      )}
      {placed.map(({ recording, index }) => (
        <PlacedRecording key={index} job={document} recording={recording} index={index} />
      ))}
      {(placed.length === 0 || another) && (
        <UnplacedRecording job={document} file={file} onPlaced={() => setAnother(false)} />
      )}
      {placed.length > 0 && !another && (
        <button type="button" class="plain" onClick={() => setAnother(true)}>
          Use another column of {file}
        </button>
      )}
    </article>
  );
}

function PlacedRecording({ job, recording, index }: { job: Job; recording: Recording; index: number }) {
  const change = (fields: Partial<Recording>) => changeRecording(index, fields);
  return (
    <details class="placed">
      <summary>
        {placeOf(job, recording)}, round {recording.round}
        {recording.column !== undefined && `, column ${recording.column}`}
      </summary>
      <div class="row-body">
        <Account recording={recording} />
        <PlaceFields
          job={job}
          place={recording}
          onPlace={(place) => change({ from: undefined, to: undefined, through: undefined, ...place })}
        />
        <CommonFields job={job} recording={recording} change={change} />
        <OverrideFields recording={recording} path={`recordings.${index}`} change={change} />
        <div class="actions">
          <a class="button" href={addressOf(openJob.value!.id, "traces")}>
            See its trace
          </a>
          <button type="button" onClick={() => removeRecording(index)}>
            Not this place
          </button>
        </div>
      </div>
    </details>
  );
}

function UnplacedRecording({ job, file, onPlaced }: { job: Job; file: string; onPlaced: () => void }) {
  const draft = draftRecording(file);
  const recording: Recording = {
    file,
    round: currentRound.value,
    quantity: draft.quantity ?? guessedQuantity(file),
    ...(job.meters[0] ? { meter: job.meters[0].id } : {}),
    ...guessedPlace(job, file),
    ...draft,
  };
  const change = (fields: Partial<Recording>) => changeDraftRecording(file, fields);
  const ready = isPlaced(recording);
  return (
    <div class="row-body">
      <Account recording={recording} />
      <h4>Where were the probes?</h4>
      <PlaceFields job={job} place={recording} onPlace={(place) => change({ ...place })} />
      <CommonFields job={job} recording={recording} change={change} />
      <OverrideFields recording={recording} path={`log.${file}`} change={change} />
      <button
        type="button"
        class="main-action"
        disabled={!ready}
        onClick={() => {
          placeRecording(
            recording.quantity === "amps"
              ? { ...recording, from: undefined, to: undefined }
              : { ...recording, through: undefined },
          );
          onPlaced();
        }}
      >
        {ready ? `Take it: ${placeOf(job, recording)}` : "Say where the probes were"}
      </button>
    </div>
  );
}

const guessedQuantity = (file: string): "volts" | "amps" => (/amp|clamp|current/i.test(file) ? "amps" : "volts");

/** A file's own name often says where it was taken: 'battery.csv'. A guess only, shown in the fields before it is taken. */
function guessedPlace(job: Job, file: string): Partial<Recording> {
  if (/return|ground|negative/i.test(file)) return { from: "load-", to: "battery-" };
  if (/supply|feed|positive/i.test(file)) return { from: "battery+", to: "load+" };
  if (/batt/i.test(file)) return { from: "battery+", to: "battery-" };
  if (/load|set|radio/i.test(file)) return { from: "load+", to: "load-" };
  const wire = partsOf(job).find(({ part }) => part === "wire");
  return guessedQuantity(file) === "amps" && wire ? { through: wire.id } : {};
}

function CommonFields({
  job,
  recording,
  change,
}: {
  job: Job;
  recording: Recording;
  change: (fields: Partial<Recording>) => void;
}) {
  return (
    <div class="fields">
      <ChoiceField
        label="Meter"
        value={recording.meter ?? ""}
        choices={meterChoices(job)}
        onValue={(meter) => change({ meter: meter || undefined })}
      />
      <ChoiceField
        label="Round"
        value={recording.round}
        choices={rounds.value.map((round) => [round, round])}
        onValue={(round) => change({ round })}
      />
      <ChoiceField
        label="Engine"
        value={recording.engine ?? ""}
        choices={[
          ["", "Find it in the log"],
          ["off", "Off all the time"],
          ["running", "Running all the time"],
        ]}
        onValue={(engine) => change({ engine: (engine || undefined) as Recording["engine"] })}
      />
      <ChoiceField
        label="Set"
        value={recording.radio ?? ""}
        choices={[
          ["", "Find it in the log"],
          ["transmit", "Keyed all the time"],
          ["idle", "Receiving all the time"],
          ["off", "Off all the time"],
        ]}
        onValue={(radio) => change({ radio: (radio || undefined) as Recording["radio"] })}
      />
    </div>
  );
}

type AccountState = { readonly account: LogAccount } | { readonly trouble: string } | null;

/** What the reader made of the log: read anew in the worker whenever an override changes. */
function Account({ recording }: { recording: Recording }) {
  const [state, setState] = useState<AccountState>(null);
  const stored = openJob.value!.files[recording.file];
  const { round, meter, from, to, through, engine, radio, ...reading } = recording;
  const question = JSON.stringify([stored?.sha256, reading]);
  useEffect(() => {
    let current = true;
    if (!stored)
      return setState({
        trouble: `${recording.file}: the job names this log, and it is not in this browser. Open it here.`,
      });
    clerk()
      .accountOf(stored.sha256, recording)
      .then(
        (account) => current && setState({ account }),
        (error: Error) => current && setState({ trouble: error.message }),
      );
    return () => {
      current = false;
    };
  }, [question]);
  if (!state) return <p role="status">Reading the log …</p>;
  if ("trouble" in state) {
    return (
      <p class="notice notice-bad" role="alert">
        {state.trouble}
      </p>
    );
  }
  return <AccountWords account={state.account} quantity={recording.quantity} />;
}

function AccountWords({ account, quantity }: { account: LogAccount; quantity: "volts" | "amps" }) {
  const unit = quantity === "volts" ? "V" : "A";
  const left = account.rejected.reduce((sum, rows) => sum + rows.count, 0);
  return (
    <div class="account">
      <p>
        Column <strong>{account.column}</strong>: {count(account.samples)} values from {account.least} to {account.most}{" "}
        {unit} over {clock(account.lastSeconds)}, one every {account.intervalSeconds} s.
      </p>
      <details>
        <summary>
          {account.decisions.length} decisions{left > 0 ? `, ${count(left)} rows left out` : ", no row left out"}
        </summary>
        <ul class="decisions">
          {account.decisions.map(({ what, value, evidence, sure }) => (
            <li key={what}>
              <strong>
                {what}: {value}
              </strong>{" "}
              {evidence} <span class="field-note">{sure >= 0.99 ? "sure" : `${Math.round(sure * 100)} % sure`}</span>
            </li>
          ))}
          {account.rejected.map(({ reason, count: rows, firstLine }) => (
            <li key={reason}>
              <strong>{count(rows)} rows left out</strong>: {reason}; first in line {count(firstLine)}
            </li>
          ))}
        </ul>
      </details>
      {account.warnings.map((warning) => (
        <p key={warning} class="field-note">
          {warning}
        </p>
      ))}
    </div>
  );
}
