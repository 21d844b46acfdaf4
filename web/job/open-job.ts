/**
 * The job on the screen. Every edit shows at once and is saved at once; while one save runs, the next waits and
 * takes everything that was typed meanwhile.
 */
import { computed, signal } from "@preact/signals";
import type { Job } from "../../analysis/index.ts";
import type { JobRecord } from "../storage/database.ts";
import { type Editable, findJob, mergeEdits, saveJob } from "../storage/jobs.ts";
import { savingProblem } from "../storage/room.ts";
import { onSavedElsewhere } from "../storage/tabs.ts";

/** as last saved or loaded: what the next save starts from */
let base: JobRecord | null = null;
let saving: Promise<void> | null = null;
let dirty = false;

export const openJob = signal<(Editable & { readonly id: string }) | null>(null);
export const missingJob = signal<string | null>(null);
export const saveTrouble = signal<string | null>(null);
export const unsaved = signal(false);
export const job = computed(() => openJob.value?.document ?? null);

export async function open(id: string): Promise<void> {
  if (openJob.value?.id === id) return;
  const record = await findAtRest(id);
  missingJob.value = record && record.deletedMilliseconds === null ? null : id;
  take(record ?? null);
}

export async function close(): Promise<void> {
  await settleSaves();
  take(null);
}

function take(record: JobRecord | null): void {
  base = record;
  dirty = false;
  openJob.value = record && { id: record.id, document: record.document, drafts: record.drafts, files: record.files };
}

/** Changes the job: `change` gets a copy of its own to work on. */
export function edit(
  change: (draft: { document: Job; drafts: Record<string, string>; files: Editable["files"] }) => void,
): void {
  const now = openJob.value;
  if (!now) return;
  const draft = structuredClone({ document: now.document, drafts: { ...now.drafts }, files: now.files });
  change(draft);
  openJob.value = { id: now.id, ...draft };
  dirty = true;
  unsaved.value = true;
  saving ??= saveAll();
}

export const editJob = (change: (document: Job) => void): void => edit((draft) => change(draft.document));

async function saveAll(): Promise<void> {
  while (dirty && base && openJob.value?.id === base.id) {
    dirty = false;
    const mine = openJob.value;
    try {
      const next: JobRecord = await saveJob(base, mine);
      base = next;
      // what was typed meanwhile stays, laid over what the save brought in; the next turn saves it
      const typed = openJob.value;
      openJob.value = { id: mine.id, ...(typed === mine ? pick(next) : mergeEdits(mine, typed, next).content) };
      saveTrouble.value = null;
    } catch (error) {
      dirty = true;
      saveTrouble.value = savingProblem(error);
      break;
    }
  }
  unsaved.value = dirty;
  saving = null;
}

const pick = ({ document, drafts, files }: JobRecord): Editable => ({ document, drafts, files });

export async function settleSaves(): Promise<void> {
  while (saving) await saving;
}

/** The job as it is kept while nothing is being saved: what is typed while it is read is saved first, and it is read anew. */
async function findAtRest(id: string): Promise<JobRecord | undefined> {
  for (;;) {
    await settleSaves();
    const record = await findJob(id);
    if (!saving) return record;
  }
}

onSavedElsewhere(async ({ id, revision }) => {
  if (id !== base?.id || revision <= base.revision) return;
  const record = await findAtRest(id);
  if (record && base?.id === id && record.revision > base.revision && !dirty) {
    if (record.deletedMilliseconds === null) take(record);
  }
});
