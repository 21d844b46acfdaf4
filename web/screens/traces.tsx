/** Traces: the logs of a round over each other on one clock, and the load line that follows from them. */
import { useEffect, useMemo, useState } from "preact/hooks";
import type { Job, RecordingEntry, RoundDiagnosis } from "../../analysis/index.ts";
import { type OwnClock, ownClock } from "../job/common-time.ts";
import { diagnosing, diagnosis } from "../job/diagnosis-now.ts";
import { chooseRound, currentRound, rounds } from "../job/measuring.ts";
import { job, openJob } from "../job/open-job.ts";
import { Segments } from "../pieces/fields.tsx";
import { LoadLineView } from "../pieces/load-line-view.tsx";
import { route } from "../routes.ts";
import type { TraceOverview, TraceSource } from "../worker/trace-bench.ts";
import { clerk } from "../worker/workers.ts";
import { TraceLanes } from "./trace-lanes.tsx";

export interface Lane {
  readonly source: TraceSource;
  readonly overview: TraceOverview;
  readonly clock: OwnClock;
  /** null while the round has not been diagnosed */
  readonly entry: RecordingEntry | null;
}

export function TracesScreen() {
  const document = job.value!;
  const round = currentRound.value;
  const entries = diagnosis.value?.rounds.find((entry) => entry.round === round) ?? null;
  const { lanes, troubles } = useLanes(document, round, entries);
  const wanted = route.value.query;
  return (
    <>
      <h1>Traces</h1>
      {rounds.value.length > 1 && (
        <Segments
          label="Round"
          value={round}
          choices={rounds.value.map((name) => [name, name])}
          onValue={chooseRound}
        />
      )}
      {troubles.map((trouble) => (
        <p key={trouble} class="notice notice-bad" role="alert">
          {trouble}
        </p>
      ))}
      {lanes === null && <p role="status">Reading the logs …</p>}
      {lanes?.length === 0 && <p class="notice">No log is placed in this round yet: open one under Measure.</p>}
      {lanes && lanes.length > 0 && (
        <>
          {diagnosing.value && <p role="status">States and steady stretches follow: {diagnosing.value.what} …</p>}
          <TraceLanes key={round + wanted.toString()} job={document} lanes={lanes} wanted={wanted} />
        </>
      )}
      {entries && <LoadLineView lanes={lanes ?? []} round={entries} />}
    </>
  );
}

interface Opened {
  readonly source: TraceSource;
  readonly overview: TraceOverview;
}

function useLanes(
  document: Job,
  round: string,
  entries: RoundDiagnosis | null,
): { lanes: readonly Lane[] | null; troubles: readonly string[] } {
  const [opened, setOpened] = useState<readonly Opened[] | null>(null);
  const [troubles, setTroubles] = useState<readonly string[]>([]);
  const sources = document.recordings.filter((recording) => recording.round === round);
  const { files } = openJob.value!;
  const question = JSON.stringify([sources, round]);
  useEffect(() => {
    let current = true;
    setOpened(null);
    const tries = sources.map(async (recording): Promise<Opened | string> => {
      const stored = files[recording.file];
      if (!stored) return `${recording.file}: this log is not in this browser.`;
      const source = { sha256: stored.sha256, recording };
      return clerk()
        .openTrace(source)
        .then(
          (overview) => ({ source, overview }),
          (error: Error) => error.message,
        );
    });
    void Promise.all(tries).then((results) => {
      if (!current) return;
      setOpened(results.filter((result): result is Opened => typeof result !== "string"));
      setTroubles(results.filter((result): result is string => typeof result === "string"));
    });
    return () => {
      current = false;
    };
  }, [question]);
  const lanes = useMemo(() => opened && placed(opened, entries), [opened, entries]);
  return { lanes, troubles };
}

function placed(opened: readonly Opened[], round: RoundDiagnosis | null): Lane[] {
  const first = opened[0]?.overview.startEpochSeconds ?? null;
  return opened.map(({ source, overview }, index) => {
    const entry = entryOf(round, source, index);
    const facts = { offsetSeconds: entry?.offsetSeconds ?? null, driftPpm: entry?.driftPpm ?? null };
    return {
      source,
      overview,
      entry,
      clock: ownClock({ ...facts, startEpochSeconds: overview.startEpochSeconds }, first),
    };
  });
}

/** Entries stand in the job's order; a log that was refused has none, so the file name decides. */
function entryOf(round: RoundDiagnosis | null, { recording }: TraceSource, index: number): RecordingEntry | null {
  const fitting = round?.recordings.filter(({ file }) => file === recording.file) ?? [];
  return (
    fitting.find(({ column }) => recording.column !== undefined && column === recording.column) ??
    (round?.recordings[index]?.file === recording.file ? round.recordings[index]! : (fitting[0] ?? null))
  );
}
