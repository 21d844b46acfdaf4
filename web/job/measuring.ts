/** What is measured into the open job: rounds, typed readings, logs and where their probes were. */
import { computed, signal } from "@preact/signals";
import { type Job, type Recording, roundsOf, type TypedReading } from "../../analysis/index.ts";
import { askToLast, savingProblem } from "../storage/room.ts";
import { clerk } from "../worker/workers.ts";
import { edit, editJob, job, openJob, saveTrouble } from "./open-job.ts";
import { offerUndo } from "./undo.ts";

/** The round that is being measured now, where the person chose one; else the latest. */
const chosenRound = signal<{ readonly jobId: string; readonly round: string } | null>(null);

export const rounds = computed<string[]>(() => (job.value ? allRounds(job.value) : []));
export const currentRound = computed(() => {
  const chosen = chosenRound.value;
  if (chosen && chosen.jobId === openJob.value?.id && rounds.value.includes(chosen.round)) return chosen.round;
  return rounds.value.at(-1) ?? "before";
});

function allRounds(document: Job): string[] {
  const named = [...roundsOf(document), ...document.rounds.map(({ round }) => round)];
  return named.length > 0 ? [...new Set(named)] : ["before"];
}

export function chooseRound(round: string): void {
  if (openJob.value) chosenRound.value = { jobId: openJob.value.id, round };
}

/** A new round after a repair: 'after', then 'after 2' and so on. */
export function addRound(): void {
  const taken = rounds.value;
  const free = (name: string, number = 2): string =>
    taken.includes(name) ? free(`after ${number}`, number + 1) : name;
  const round = free("after");
  editJob((document) => {
    for (const earlier of taken)
      if (!document.rounds.some((entry) => entry.round === earlier)) document.rounds.push({ round: earlier });
    document.rounds.push({ round, date: new Date().toISOString().slice(0, 10) });
  });
  chooseRound(round);
}

export function keepReading(reading: TypedReading): void {
  editJob((document) => document.readings.push(reading));
}

export function removeReading(index: number, words: string): void {
  const gone = job.value!.readings[index]!;
  editJob((document) => document.readings.splice(index, 1));
  offerUndo(`${words} deleted.`, () =>
    editJob((document) => document.readings.splice(index, 0, structuredClone(gone))),
  );
}

/** Keeps logs before anything else is asked: whatever the reader makes of them, their bytes are safe. */
export async function addLogs(given: readonly File[], placed: Partial<Recording> = {}): Promise<string[]> {
  const names: string[] = [];
  try {
    for (const log of given) {
      const stored = await clerk().keepLog(log);
      const name = freeFile(log.name, stored.sha256);
      names.push(name);
      edit((draft) => {
        draft.files = { ...draft.files, [name]: stored };
        if (Object.keys(placed).length > 0) draft.drafts[draftKey(name)] = JSON.stringify(placed);
      });
    }
    void askToLast();
  } catch (error) {
    saveTrouble.value = savingProblem(error);
  }
  return names;
}

function freeFile(name: string, sha256: string): string {
  const taken = openJob.value?.files ?? {};
  const [, stem = name, ending = ""] = /^(.*?)(\.[^.]*)?$/.exec(name) ?? [];
  let free = name;
  for (let number = 2; taken[free] && taken[free]!.sha256 !== sha256; number++) free = `${stem}-${number}${ending}`;
  return free;
}

/** Where what is being decided about an unplaced log waits, saved like all that is typed. */
const draftKey = (file: string): string => `log:${file}`;

export function draftRecording(file: string): Partial<Recording> {
  const text = openJob.value?.drafts[draftKey(file)];
  return text ? (JSON.parse(text) as Partial<Recording>) : {};
}

export function changeDraftRecording(file: string, fields: Partial<Recording>): void {
  edit((draft) => {
    draft.drafts[draftKey(file)] = JSON.stringify({ ...draftRecording(file), ...fields });
  });
}

export function placeRecording(recording: Recording): void {
  edit((draft) => {
    const stored = draft.files[recording.file];
    draft.document.recordings.push({ ...recording, ...(stored ? { sha256: stored.sha256 } : {}) });
    delete draft.drafts[draftKey(recording.file)];
  });
}

export function changeRecording(index: number, fields: Partial<Recording>): void {
  editJob((document) => Object.assign(document.recordings[index]!, fields));
}

export function removeRecording(index: number): void {
  const gone = job.value!.recordings[index]!;
  editJob((document) => document.recordings.splice(index, 1));
  offerUndo(`${gone.file}: placing undone; the log is kept.`, () =>
    editJob((document) => document.recordings.splice(index, 0, structuredClone(gone))),
  );
}

export function removeLog(file: string): void {
  const was = openJob.value!;
  const stored = was.files[file];
  edit((draft) => {
    draft.document.recordings = draft.document.recordings.filter((recording) => recording.file !== file);
    draft.files = Object.fromEntries(Object.entries(draft.files).filter(([name]) => name !== file));
  });
  offerUndo(`${file} deleted.`, () =>
    edit((draft) => {
      if (stored) draft.files = { ...draft.files, [file]: stored };
      draft.document.recordings.push(
        ...structuredClone(was.document.recordings.filter((recording) => recording.file === file)),
      );
    }),
  );
}

export function cannotReach(point: string): void {
  setReach(point, "no");
  offerUndo(`${point} will not be asked for again.`, () => setReach(point, undefined));
}

function setReach(point: string, reach: "no" | undefined): void {
  editJob((document) => {
    for (const item of document.loop) if ("point" in item && item.point === point) item.reach = reach;
  });
}
