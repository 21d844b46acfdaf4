/** All jobs of one vehicle over time: each visit with its result, and each part's ohms as a trend with intervals. */
import { useEffect, useState } from "preact/hooks";
import {
  type Diagnosis,
  type Job,
  type PartTrend,
  percent,
  surelyRises,
  type VehicleHistory,
  valueForPrint,
  vehicleHistory,
  verdictWords,
  withInterval,
} from "../../analysis/index.ts";
import { folderName, jobs, refreshJobs } from "../job/all-jobs.ts";
import { TableFrame } from "../pieces/table-frame.tsx";
import { TrendChart } from "../pieces/trend-chart.tsx";
import { dayOf } from "../record/record-choice.ts";
import { addressOf, sameVehicle } from "../routes.ts";
import type { JobRecord } from "../storage/database.ts";
import { nameOfPart } from "../words/reading-words.ts";
import { capital } from "../words/shown.ts";
import { analyst } from "../worker/workers.ts";

interface Diagnosed {
  readonly record: JobRecord;
  readonly diagnosis: Diagnosis;
}

export function HistoryScreen({ vehicleId }: { vehicleId: string }) {
  useEffect(() => void refreshJobs(), []);
  const own = (jobs.value ?? []).filter(
    ({ document, deletedMilliseconds }) =>
      deletedMilliseconds === null && sameVehicle(document.vehicleId ?? "", vehicleId),
  );
  const { diagnosed, troubles, done } = useDiagnoses(own);
  const history = vehicleHistory(
    diagnosed.map(({ record, diagnosis }) => ({
      job: record.document,
      diagnosis,
      fallbackDay: dayOf(new Date(record.updatedMilliseconds)),
    })),
  );
  return (
    <>
      <h1>{vehicleId}: its jobs over time</h1>
      <div class="progress" role="status">
        {jobs.value && done < own.length && (
          <>
            <progress max={own.length} value={done} aria-label="Weighing the jobs" />
            <span>
              {done} of {own.length} jobs weighed
            </span>
          </>
        )}
        {jobs.value && own.length === 0 && <p>No job in this browser has this number.</p>}
      </div>
      {troubles.map((trouble) => (
        <p key={trouble} class="notice notice-bad" role="alert">
          {trouble}
        </p>
      ))}
      {history.visits.length > 0 && <Visits history={history} diagnosed={diagnosed} />}
      {history.visits.length > 0 && <Trends history={history} job={latestJob(history, diagnosed)} />}
    </>
  );
}

/** One after the other, so that the first is there while the last is weighed. */
function useDiagnoses(records: readonly JobRecord[]) {
  const [diagnosed, setDiagnosed] = useState<readonly Diagnosed[]>([]);
  const [troubles, setTroubles] = useState<readonly string[]>([]);
  const [done, setDone] = useState(0);
  const key = records.map(({ id, revision }) => `${id} ${revision}`).join();
  useEffect(() => {
    let current = true;
    const weigh = async () => {
      const found: Diagnosed[] = [];
      const refused: string[] = [];
      for (const [index, record] of records.entries()) {
        try {
          const { diagnosis } = await analyst().diagnoseJob(folderName(record.document), record.document, record.files);
          found.push({ record, diagnosis });
        } catch (error) {
          refused.push(`${record.document.title}: ${(error as Error).message}`);
        }
        if (!current) return;
        setDone(index + 1);
        setDiagnosed([...found]);
        setTroubles([...refused]);
      }
    };
    setDone(0);
    void weigh();
    return () => {
      current = false;
    };
  }, [key]);
  return { diagnosed, troubles, done };
}

const latestJob = ({ visits }: VehicleHistory, diagnosed: readonly Diagnosed[]): Job =>
  diagnosed[(visits.findLast(({ day }) => day !== null) ?? visits.at(-1)!).job]!.record.document;

function Visits({ history, diagnosed }: { history: VehicleHistory; diagnosed: readonly Diagnosed[] }) {
  return (
    <section class="sheet" aria-labelledby="visits-heading">
      <h2 id="visits-heading">Visits</h2>
      <TableFrame label="Each visit with its result">
        <thead>
          <tr>
            <th scope="col">Day</th>
            <th scope="col">Job</th>
            <th scope="col">Round</th>
            <th scope="col">Result</th>
            <th scope="col">At the set, keyed</th>
          </tr>
        </thead>
        <tbody>
          {history.visits.map(({ job, round, day, verdict, loadVolts }) => {
            const { record } = diagnosed[job]!;
            return (
              <tr key={record.id + round}>
                <th scope="row">{day ?? "not written down"}</th>
                <td>
                  <a href={addressOf(record.id, "find")}>{record.document.title || "Job without a title"}</a>
                </td>
                <td>{round}</td>
                <td>{verdictWords[verdict]}</td>
                <td>{withInterval(loadVolts, "V")}</td>
              </tr>
            );
          })}
        </tbody>
      </TableFrame>
    </section>
  );
}

function Trends({ history, job }: { history: VehicleHistory; job: Job }) {
  const sorted = history.trends.toSorted((a, b) => (b.rises ?? 0) - (a.rises ?? 0));
  const going = sorted.filter(({ rises }) => (rises ?? 0) >= surelyRises);
  return (
    <section class="sheet" aria-labelledby="trends-heading">
      <h2 id="trends-heading">Ohms of each part</h2>
      <p role="status">
        <strong>
          {going.length === 0
            ? "No part is seen to get worse."
            : `Getting worse: ${going.map(({ id }) => nameOfPart(job, id)).join(", ")}.`}
        </strong>
      </p>
      <p class="field-note">
        Bars are 95 % intervals. Dashed: what the trade allows a part of its kind, at the current that the set draws.
        Hollow: before it was renewed.
      </p>
      <ul class="trends">
        {sorted.map((trend) => (
          <li key={trend.id}>
            <h3>{capital(nameOfPart(job, trend.id))}</h3>
            <p>{trendWords(trend)}</p>
            <TrendChart history={history} trend={trend} name={nameOfPart(job, trend.id)} />
          </li>
        ))}
      </ul>
      <TableFrame label="Ohms of each part, visit by visit">
        <thead>
          <tr>
            <th scope="col">Part</th>
            {history.visits.map(({ day, job: place, round }) => (
              <th scope="col" key={`${place} ${round}`}>
                {[day, round].filter(Boolean).join(", ")}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {history.trends.map(({ id }) => (
            <tr key={id}>
              <th scope="row">{nameOfPart(job, id)}</th>
              {history.visits.map(({ ohms, job: place, round }) => (
                <td key={`${place} ${round}`}>{valueForPrint(ohms.get(id) ?? null, "Ω")}</td>
              ))}
            </tr>
          ))}
        </tbody>
      </TableFrame>
    </section>
  );
}

function trendWords({ ohmsPerYear, rises, reachesLimitOn, over }: PartTrend): string {
  if (!ohmsPerYear || rises === null)
    return over.length === 0 ? "Not measured apart." : "Measured on one day so far, since it was last renewed.";
  if (rises < surelyRises) return `Not seen to rise over ${over.length} visits.`;
  const until = reachesLimitOn === null ? "" : ` At this rate it takes more than it may from about ${reachesLimitOn}.`;
  return `Rises ${withInterval(ohmsPerYear, "Ω")} a year (${percent(rises)} sure).${until}`;
}
