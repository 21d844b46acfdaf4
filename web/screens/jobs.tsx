/** The first screen: measure first, or start from a circuit; below it every job kept in this browser. */
import { useSignal } from "@preact/signals";
import { useEffect, useState } from "preact/hooks";
import {
  deleteJob,
  duplicateJob,
  exportJob,
  firstLoop,
  importTroubles,
  jobs,
  openSample,
  refreshJobs,
  restoreJob,
  startJob,
  takeFiles,
} from "../job/all-jobs.ts";
import { readyMadeLoops } from "../job/ready-made-loops.ts";
import { TextField } from "../pieces/fields.tsx";
import { DropPlace, FileButton } from "../pieces/file-button.tsx";
import { SyncMark } from "../pieces/sync-mark.tsx";
import { addressOf, vehicleAddress } from "../routes.ts";
import type { JobRecord } from "../storage/database.ts";

export function JobsScreen() {
  useEffect(() => void refreshJobs(), []);
  const take = (files: File[]) => void takeFiles(files);
  return (
    <DropPlace onFiles={take}>
      <section class="start" aria-labelledby="start-heading">
        <h1 id="start-heading">Where do the volts go?</h1>
        <p>
          Type what the meter shows or open its log. The circuit can be written down afterwards: each thing you know
          about it makes the answer sharper.
        </p>
        <div class="actions">
          <button
            type="button"
            class="main-action"
            onClick={() => void startJob(firstLoop(), "measure", { type: "1" })}
          >
            Type a reading
          </button>
          <FileButton main words="Open logs or a job folder" onFiles={take} />
        </div>
        {importTroubles.value.map((trouble) => (
          <p key={trouble} class="notice notice-bad" role="alert">
            {trouble}
          </p>
        ))}
        <StartFromCircuit />
        <Samples />
      </section>
      <JobList />
    </DropPlace>
  );
}

function StartFromCircuit() {
  return (
    <details>
      <summary>New job from a circuit</summary>
      <ul class="cards">
        {readyMadeLoops.map((loop) => (
          <li key={loop.key}>
            <button type="button" class="card-button" onClick={() => void startJob(loop, "describe")}>
              <strong>{loop.name}</strong>
              <span>{loop.remark}</span>
            </button>
          </li>
        ))}
      </ul>
    </details>
  );
}

function Samples() {
  const [samples, setSamples] = useState<readonly { name: string; title: string }[] | null>(null);
  const load = () => {
    if (samples) return;
    void fetch("./samples/index.json")
      .then((response) => (response.ok ? response.json() : []))
      .then(setSamples, () => setSamples([]));
  };
  return (
    <details onToggle={load}>
      <summary>Sample jobs</summary>
      <p>Invented jobs with logs, each with one answer to find.</p>
      <ul class="cards">
        {samples?.map(({ name, title }) => (
          <li key={name}>
            <button type="button" class="card-button" onClick={() => void openSample(name)}>
              {title}
            </button>
          </li>
        ))}
      </ul>
      {samples?.length === 0 && <p>No sample jobs came with this copy of the app.</p>}
    </details>
  );
}

function JobList() {
  const wanted = useSignal("");
  const kept = (jobs.value ?? []).filter((job) => job.deletedMilliseconds === null);
  const gone = (jobs.value ?? []).filter((job) => job.deletedMilliseconds !== null);
  const found = kept.filter((job) => matches(job, wanted.value));
  return (
    <section aria-labelledby="jobs-heading">
      <h2 id="jobs-heading">Jobs in this browser</h2>
      {kept.length > 0 && (
        <TextField
          label="Search"
          value={wanted.value}
          onValue={(text) => {
            wanted.value = text;
          }}
        />
      )}
      {jobs.value && kept.length === 0 && <p>None yet. What you start above is kept here as you type.</p>}
      {kept.length > 0 && found.length === 0 && <p>No job has “{wanted.value}” in it.</p>}
      <ul class="job-list">
        {found.map((job) => (
          <JobEntry key={job.id} job={job} />
        ))}
      </ul>
      {gone.length > 0 && (
        <details>
          <summary>Deleted in the last 30 days ({gone.length})</summary>
          <ul class="job-list">
            {gone.map((job) => (
              <li key={job.id} class="job-entry">
                <span>{job.document.title || "Job without a title"}</span>
                <button type="button" onClick={() => void restoreJob(job.id)}>
                  Bring back
                </button>
              </li>
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

function matches({ document }: JobRecord, wanted: string): boolean {
  const text = [
    document.title,
    document.customer,
    document.vehicle,
    document.vehicleId,
    document.load.label,
    document.notes,
  ]
    .join(" ")
    .toLowerCase();
  return wanted
    .toLowerCase()
    .split(/\s+/)
    .every((word) => text.includes(word));
}

function JobEntry({ job }: { job: JobRecord }) {
  const { document } = job;
  const title = document.title || "Job without a title";
  const measured = document.recordings.length + document.readings.length;
  return (
    <li class="job-entry">
      <a href={addressOf(job.id, measured > 0 ? "find" : "describe")}>
        <strong>{title}</strong>
        <span>
          {[document.vehicle, document.customer, `${measured} readings and logs`, whenSaved(job)]
            .filter(Boolean)
            .join(" · ")}
        </span>
        <SyncMark id={job.id} />
      </a>
      <details class="job-more">
        <summary aria-label={`More for ${title}`}>More</summary>
        <div class="actions">
          {document.vehicleId && (
            <a class="button" href={vehicleAddress(document.vehicleId)}>
              This vehicle over time
            </a>
          )}
          <button type="button" onClick={() => void duplicateJob(job)}>
            Use as template
          </button>
          <button type="button" onClick={() => void exportJob(job)}>
            Export folder
          </button>
          <button type="button" onClick={() => void deleteJob(job)}>
            Delete
          </button>
        </div>
      </details>
    </li>
  );
}

const whenSaved = (job: JobRecord): string =>
  new Date(job.updatedMilliseconds).toLocaleString("en-GB", {
    day: "numeric",
    month: "short",
    hour: "2-digit",
    minute: "2-digit",
  });
