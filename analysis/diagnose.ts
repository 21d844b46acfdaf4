/**
 * The whole way from a job with its logs to a diagnosis: log → states → readings → belief → findings → comparison.
 */
import { compareRounds, type RoundBelief, type RoundChange } from "./comparison/round-change.ts";
import type { Diagnosis, RecordingEntry, RoundDiagnosis } from "./diagnosis.ts";
import { candidatesOf } from "./finding/candidate.ts";
import { drawnBelief, keyedDropAtDeclared, partEntries, sourceEntry, stateEntries } from "./finding/figures.ts";
import { findingsOf } from "./finding/finding.ts";
import { worstCase } from "./finding/forecast.ts";
import { nextReadings } from "./finding/next-reading.ts";
import { placeWords } from "./finding/place-words.ts";
import { checkProtection, keyedAmpsRead, measuredReturnChecks, supplyRangeChecks } from "./finding/protection.ts";
import { verdictOf } from "./finding/verdict.ts";
import { liveTests, verifyInstall } from "./finding/verification.ts";
import type { Job } from "./job/job.ts";
import { parseJob } from "./job/job.ts";
import { roundsOf } from "./job/round.ts";
import { readLog } from "./log/log-reader.ts";
import type { LogReading } from "./log/sample.ts";
import { Problem } from "./problem.ts";
import type { Reading } from "./reading/reading.ts";
import type { LoggedRecording } from "./reading/readings.ts";
import { believeRound } from "./round-belief.ts";
import type { ReadLog } from "./state/cut-log.ts";

export interface DiagnoseOptions {
  /** what was noticed while the job was checked; given on in the first round's warnings */
  readonly warnings?: readonly string[];
  /** share done, 0 to 1, and what is being done */
  readonly onProgress?: (share: number, what: string) => void;
}

/** A diagnosis with what its format has no place for. */
export interface FullDiagnosis {
  readonly diagnosis: Diagnosis;
  /** a round each: what keeps the install from being handed over, or is still to be done; empty when it passed */
  readonly handoverRemarks: readonly (readonly string[])[];
  /** every later round against the first and against the one before it; worked out when asked for */
  everyComparison(): RoundChange[];
}

/**
 * @param folder name given back in the diagnosis
 * @param job a checked job (`parseJob`)
 * @param logs what the reader made of each recording, in the order of `job.recordings`
 */
export function diagnose(folder: string, job: Job, logs: readonly ReadLog[], options: DiagnoseOptions = {}): Diagnosis {
  return diagnoseInFull(folder, job, logs, options).diagnosis;
}

/** The same, with the remarks of a verification and every comparison beside it. */
export function diagnoseInFull(
  folder: string,
  job: Job,
  logs: readonly ReadLog[],
  options: DiagnoseOptions = {},
): FullDiagnosis {
  const names = roundsOf(job);
  const rounds = names.map((name, index) => {
    options.onProgress?.(index / names.length, `round ${name}`);
    return diagnoseRound(job, name, logs, index === 0 ? (options.warnings ?? []) : []);
  });
  const [first] = rounds;
  const last = rounds.at(-1);
  const change = first !== undefined && last !== undefined && first !== last ? compareRounds(job, first, last) : null;
  return {
    diagnosis: {
      format: "diagnosis/1",
      folder,
      title: job.title,
      rounds: rounds.map(({ diagnosis }) =>
        change !== null && diagnosis === last!.diagnosis
          ? { ...diagnosis, warnings: [...diagnosis.warnings, ...change.newTrouble] }
          : diagnosis,
      ),
      comparison: change?.comparison ?? null,
    },
    handoverRemarks: rounds.map(({ remarks }) => remarks),
    everyComparison: () =>
      rounds.slice(1).flatMap((later, index) => {
        const earlier = index > 0 ? [rounds[0]!, rounds[index]!] : [rounds[0]!];
        return earlier.map((one) => (one === first && later === last ? change! : compareRounds(job, one, later)));
      }),
  };
}

/**
 * The same from a folder's files held in memory.
 * @throws {Problem} where job.json or a log it names is not there or cannot be read
 */
export function diagnoseFiles(folder: string, files: ReadonlyMap<string, Uint8Array>): Diagnosis {
  const text = files.get("job.json");
  if (text === undefined) throw new Problem("there should be a job.json", { file: folder });
  const { job, warnings } = parseJob(new TextDecoder().decode(text));
  return diagnose(folder, job, readLogs(job, files), { warnings });
}

function readLogs(job: Job, files: ReadonlyMap<string, Uint8Array>): LogReading[] {
  const logs = new Map<Job["recordings"][number], LogReading>();
  for (const file of new Set(job.recordings.map((recording) => recording.file))) {
    const bytes = files.get(file);
    if (bytes === undefined) throw new Problem("the log should be in the job folder; it is not there", { file });
    const recordings = job.recordings.filter((recording) => recording.file === file);
    readLog(file, bytes, recordings).forEach((log, index) => {
      logs.set(recordings[index]!, log);
    });
  }
  return job.recordings.map((recording) => logs.get(recording)!);
}

interface DiagnosedRound extends RoundBelief {
  readonly remarks: readonly string[];
}

function diagnoseRound(
  declared: Job,
  name: string,
  logs: readonly ReadLog[],
  jobWarnings: readonly string[],
): DiagnosedRound {
  const { job, logged, readings, posterior, suspects } = believeRound(declared, name, logs);
  const drawn = drawnBelief(posterior);
  const candidates = candidatesOf(posterior);
  const worst = worstCase(drawn);
  const source = sourceEntry(drawn);
  const states = stateEntries(drawn);
  const protection = [
    ...checkProtection(job, measuredSource(source), name, keyedAmpsRead(states, readings)),
    ...measuredReturnChecks(job, keyedOff(states)),
    ...supplyRangeChecks(job, keyedOff(states)?.loadVolts ?? null),
  ];
  const verdict = verdictOf(drawn, candidates, worst);
  const { verification, remarks } = verifyInstall({
    job,
    readings: readings.filter(({ keyingUnseen }) => !keyingUnseen),
    verdict,
    transmitDropVolts: keyedDropAtDeclared(drawn),
    worstCaseMarginVolts: worst.marginVolts,
    protection,
    ...liveTests(job, name, logged),
  });
  const diagnosis: RoundDiagnosis = {
    round: name,
    verdict,
    recordings: logged.map(recordingEntry),
    states,
    source,
    parts: partEntries(drawn),
    findings: findingsOf(drawn, candidates),
    nextReadings: nextReadings(posterior, candidates),
    worstCase: worst,
    protection,
    verification,
    warnings: [...jobWarnings, ...roundWarnings(job, name, readings, suspects)],
  };
  return { diagnosis, drawn, remarks };
}

const measuredSource = ({ openCircuitVolts, ohms }: RoundDiagnosis["source"]) =>
  openCircuitVolts && ohms
    ? { openCircuitVolts: openCircuitVolts.value, ohms: ohms.value, lowOhms: ohms.low, highOhms: ohms.high }
    : null;

/** Keyed with the engine off: what rated ranges and structure returns are held against. */
const keyedOff = (states: RoundDiagnosis["states"]) =>
  states.find(({ engine, radio }) => engine === "off" && radio === "transmit") ?? null;

function recordingEntry({ recording, log, states }: LoggedRecording): RecordingEntry {
  const { samples, rejected, warnings } = log;
  return {
    file: recording.file,
    column: samples.column,
    samples: samples.values.length,
    blindBelowSeconds: samples.intervalSeconds > 0 ? samples.intervalSeconds : null,
    rejectedRows: rejected.reduce((sum, { count }) => sum + count, 0),
    warnings: [...warnings, ...states.warnings],
    offsetSeconds: states.offsetSeconds,
    offsetUncertaintySeconds: states.offsetUncertaintySeconds,
    driftPpm: states.driftPpm,
    plateaus: states.plateaus.map(({ startSeconds, endSeconds, engine, radio, value, uncertainty }) => ({
      startSeconds,
      endSeconds,
      engine,
      radio,
      value,
      uncertainty,
    })),
    events: states.events,
  };
}

function roundWarnings(job: Job, name: string, readings: readonly Reading[], suspects: readonly Reading[]): string[] {
  const noState = job.readings.filter(
    ({ round, radio, rippleVolts }) => round === name && radio === undefined && rippleVolts === undefined,
  );
  return [
    ...suspects.map(
      ({ source, place }) =>
        `${source} (${placeWords(place)}) contradicts the other readings, whatever the cause, and hardly counts: read it again`,
    ),
    ...readings
      .filter(({ keyingUnseen }) => keyingUnseen)
      .map(
        ({ source, place }) =>
          `nothing in ${source} (${placeWords(place)}) shows that the set was keyed: it is taken to have been, as in the other logs; if it was not, measure it again keyed`,
      ),
    ...(noState.length > 0
      ? [`${noState.length} typed readings do not say whether the set was keyed and were left out`]
      : []),
    ...(readings.length === 0 ? ["nothing measured in this round can be used: no reading has a known state"] : []),
  ];
}
