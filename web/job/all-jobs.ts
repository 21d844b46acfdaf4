/** The list of jobs as it stands in the store, and what can be done with a whole job. */
import { signal } from "@preact/signals";
import type { Job } from "../../analysis/index.ts";
import { addressOf, go, type JobScreen } from "../routes.ts";
import type { JobRecord } from "../storage/database.ts";
import { createJob, listJobs, markDeleted } from "../storage/jobs.ts";
import { askToLast, savingProblem } from "../storage/room.ts";
import { onSavedElsewhere } from "../storage/tabs.ts";
import { clerk } from "../worker/workers.ts";
import { saveTrouble } from "./open-job.ts";
import { jobFromLoop, type ReadyMadeLoop, readyMadeLoops } from "./ready-made-loops.ts";
import { saveFile } from "./save-file.ts";
import { offerUndo } from "./undo.ts";

export const jobs = signal<readonly JobRecord[] | null>(null);
/** what an import refused, in the reader's words */
export const importTroubles = signal<readonly string[]>([]);

export async function refreshJobs(): Promise<void> {
  jobs.value = await listJobs();
}
onSavedElsewhere(() => void refreshJobs());

async function keep(document: Job, files: JobRecord["files"]): Promise<JobRecord | null> {
  try {
    const record = await createJob({ document, files, drafts: {} });
    void askToLast();
    await refreshJobs();
    return record;
  } catch (error) {
    saveTrouble.value = savingProblem(error);
    return null;
  }
}

export async function startJob(
  loop: ReadyMadeLoop,
  screen: JobScreen,
  query: Record<string, string> = {},
): Promise<void> {
  const record = await keep(jobFromLoop(loop, `${loop.name}, ${today()}`), {});
  if (record) go(addressOf(record.id, screen, query));
}

/** The circuit that a first reading is put into before anybody has described one. */
export const firstLoop = (): ReadyMadeLoop => readyMadeLoops.find(({ key }) => key === "chassis-return")!;

const today = (): string => new Date().toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric" });

export async function duplicateJob({ document }: JobRecord): Promise<void> {
  const copy = structuredClone(document);
  const record = await keep(
    { ...copy, title: `${copy.title} (copy)`, recordings: [], readings: [], rounds: [], signatures: undefined },
    {},
  );
  if (record) go(addressOf(record.id, "describe"));
}

export async function deleteJob({ id, document }: JobRecord): Promise<void> {
  await markDeleted(id, true);
  await refreshJobs();
  offerUndo(`“${document.title}” deleted.`, () => restoreJob(id));
}

export async function restoreJob(id: string): Promise<void> {
  await markDeleted(id, false);
  await refreshJobs();
}

/** Files given on the first screen: job folders are opened, anything else is a log for a job of its own. */
export async function takeFiles(given: readonly File[]): Promise<void> {
  importTroubles.value = [];
  const zips = given.filter((file) => /\.(zip|pdf)$/i.test(file.name));
  const loose = given.filter((file) => !zips.includes(file));
  for (const zip of zips) await importFolder([zip]);
  if (loose.some((file) => file.name === "job.json")) await importFolder(loose);
  else if (loose.length > 0) await startFromLogs(loose);
}

async function importFolder(given: readonly File[]): Promise<void> {
  try {
    const { document, files, warnings } = await clerk().openFolder([...given]);
    importTroubles.value = [...importTroubles.value, ...warnings];
    const record = await keep(document, files);
    if (record)
      go(addressOf(record.id, document.recordings.length + document.readings.length > 0 ? "find" : "describe"));
  } catch (error) {
    importTroubles.value = [...importTroubles.value, (error as Error).message];
  }
}

async function startFromLogs(logs: readonly File[]): Promise<void> {
  const files: Record<string, JobRecord["files"][string]> = {};
  for (const log of logs) files[log.name] = await clerk().keepLog(log);
  const loop = firstLoop();
  const record = await keep(jobFromLoop(loop, `${loop.name}, ${today()}`), files);
  if (record) go(addressOf(record.id, "measure"));
}

export async function openSample(name: string): Promise<void> {
  const response = await fetch(`./samples/${name}.zip`);
  if (!response.ok) {
    importTroubles.value = [`The sample job ${name} is not to be had: ${response.status} ${response.statusText}.`];
    return;
  }
  await takeFiles([new File([await response.blob()], `${name}.zip`)]);
}

/** Hands the job out as a zipped folder. */
export async function exportJob({ document, files }: Pick<JobRecord, "document" | "files">): Promise<void> {
  saveFile(`${folderName(document)}.zip`, await clerk().packFolder(document, files));
}

export const folderName = (document: Job): string =>
  (document.title || "job")
    .toLowerCase()
    .replaceAll(/[^\p{L}\p{N}]+/gu, "-")
    .replaceAll(/^-+|-+$/g, "")
    .slice(0, 60) || "job";
