/** What is written down of a round: when, what was changed on the parts, what was done, the checklist, its photos. */
import { changedItem, type Job, type LoopItem, type Round } from "../../analysis/index.ts";
import { savingProblem } from "../storage/room.ts";
import { clerk } from "../worker/workers.ts";
import { edit, editJob, job, openJob, saveTrouble } from "./open-job.ts";
import { scaledPhoto } from "./scaled-photo.ts";
import { offerUndo } from "./undo.ts";

export type Photo = { readonly file: string; readonly caption?: string };

export const roundOf = (document: Job, round: string): Round =>
  document.rounds.find((entry) => entry.round === round) ?? { round };

export function editRound(round: string, change: (entry: Round) => void): void {
  editJob((document) => change(entryIn(document, round)));
}

/** Rounds are described in the order in which they were begun; one that nobody described yet gets its entry. */
function entryIn(document: Job, round: string): Round {
  const known = document.rounds.find((entry) => entry.round === round);
  if (known) return known;
  const entry: Round = { round };
  document.rounds.push(entry);
  return entry;
}

export function answer(round: string, question: string, given: boolean | null): void {
  editRound(round, (entry) => {
    const { [question]: _, ...others } = entry.checks ?? {};
    entry.checks = given === null ? others : { ...others, [question]: given };
  });
}

/** Fields of a part that are different from this round on; fields that were changed before stay changed. */
export function changePart(round: string, id: string, fields: object): void {
  editRound(round, (entry) => {
    const changed = entry.changed ?? [];
    const known = changed.find((one) => one.id === id);
    entry.changed = known
      ? changed.map((one) => (one === known ? { ...one, ...fields } : one))
      : [...changed, { id, ...fields }];
  });
}

export function leavePartAsItWas(round: string, id: string): void {
  editRound(round, (entry) => {
    entry.changed = (entry.changed ?? []).filter((one) => one.id !== id);
  });
}

/** The part as it is in a round, from the part as it was before it. */
export const partNow = (was: LoopItem, entry: Round): LoopItem =>
  (entry.changed ?? [])
    .filter(({ id }) => !("point" in was) && id === was.id)
    .reduce<LoopItem>((now, change) => changedItem(now, change), was);

export function addDone(round: string, words: string): void {
  editRound(round, (entry) => {
    if (!entry.done?.includes(words)) entry.done = [...(entry.done ?? []), words];
  });
}

export const photosOf = (entry: Round): Photo[] =>
  (entry.photos ?? []).map((photo) => (typeof photo === "string" ? { file: photo } : photo));

/** Files of the job that are pictures of it, not logs. */
export const photoFiles = (document: Job): Set<string> =>
  new Set(document.rounds.flatMap((entry) => photosOf(entry).map(({ file }) => file)));

/**
 * Photos scaled down, without place and time, kept under the round.
 * @returns what could not be taken, in a sentence each; the others are kept
 */
export async function addPhotos(round: string, given: readonly File[]): Promise<string[]> {
  const troubles: string[] = [];
  for (const file of given) {
    try {
      const stored = await clerk().keepLog(await scaledPhoto(file));
      edit((draft) => {
        const name = freeName(draft.files, round);
        draft.files = { ...draft.files, [name]: stored };
        const entry = entryIn(draft.document, round);
        entry.photos = [...(entry.photos ?? []), { file: name }];
      });
    } catch (error) {
      if (error instanceof DOMException) saveTrouble.value = savingProblem(error);
      else troubles.push((error as Error).message);
    }
  }
  return troubles;
}

/** Named for the round, never as the camera names it: that can tell day and place. */
function freeName(taken: Readonly<Record<string, unknown>>, round: string): string {
  const stem = `photo-${round.toLowerCase().replaceAll(/[^\p{L}\p{N}]+/gu, "-")}`;
  let number = 1;
  while (taken[`${stem}-${number}.jpg`]) number++;
  return `${stem}-${number}.jpg`;
}

export function describePhoto(round: string, file: string, caption: string): void {
  editRound(round, (entry) => {
    entry.photos = photosOf(entry).map((photo) =>
      photo.file === file ? { ...photo, caption: caption || undefined } : photo,
    );
  });
}

export function removePhoto(round: string, file: string): void {
  const place = photosOf(roundOf(job.value!, round)).findIndex((photo) => photo.file === file);
  const gone = photosOf(roundOf(job.value!, round))[place]!;
  const stored = openJob.value!.files[file];
  edit((draft) => {
    const entry = entryIn(draft.document, round);
    entry.photos = photosOf(entry).filter((photo) => photo.file !== file);
    draft.files = Object.fromEntries(Object.entries(draft.files).filter(([name]) => name !== file));
  });
  offerUndo("Photo deleted.", () =>
    edit((draft) => {
      if (stored) draft.files = { ...draft.files, [file]: stored };
      const entry = entryIn(draft.document, round);
      entry.photos = photosOf(entry).toSpliced(place, 0, gone);
    }),
  );
}
