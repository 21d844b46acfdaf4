/**
 * The two or three likeliest explanations of a drawn job, of different causes or places, with their Laplace fits.
 */
import { type Job, type LogReading, parseJob, readLog } from "../../../analysis/index.ts";
import type { Belief } from "../../../analysis/inference/posterior.ts";
import { believeRound } from "../../../analysis/round-belief.ts";
import { drawnJob, filesAsBytes } from "../accuracy/drawn-jobs.ts";

const mostModels = 3;
const leastProbability = 1e-3;

export interface LikelyModel {
  readonly name: string;
  readonly belief: Belief;
}

export async function likelyModels(seed: number): Promise<LikelyModel[]> {
  const drawn = await drawnJob(seed, { evidence: "full", dialects: "plain" });
  const { job } = parseJob(drawn.files.get("job.json")!);
  const { posterior } = believeRound(job, "before", readLogs(filesAsBytes(drawn), job));
  return posterior.beliefs
    .filter(({ probability }) => probability > leastProbability)
    .slice(0, mostModels)
    .map((belief) => ({ name: nameOf(belief), belief }));
}

const nameOf = ({ hypothesis, model }: Belief): string =>
  hypothesis.faults
    .map(({ cause, part }) => (part < 0 ? cause : `${cause} at ${model.setting.expected[part]!.id}`))
    .join(" + ") || "none";

function readLogs(files: ReadonlyMap<string, Uint8Array>, job: Job): LogReading[] {
  return job.recordings.map((recording) => readLog(recording.file, files.get(recording.file)!, [recording])[0]!);
}
