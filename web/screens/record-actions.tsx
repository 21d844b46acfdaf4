/** Print, save, share: the record goes where the person sends it, and nowhere else. */
import { type Signal, useSignal } from "@preact/signals";
import { folderName } from "../job/all-jobs.ts";
import { openJob } from "../job/open-job.ts";
import { saveFile } from "../job/save-file.ts";
import type { RecordKind } from "../record/make-record.ts";
import { browserChoice, recordChoice, signingKey } from "../record/record-choice.ts";
import { analyst } from "../worker/workers.ts";

/** A name that tells nothing where the customer is left out. */
const fileName = (kind: RecordKind): string => {
  const stem = recordChoice.value.shared ? "job" : folderName(openJob.value!.document);
  return kind === "zip" ? `${stem}.zip` : `${stem}-record.${kind}`;
};

async function made(kind: RecordKind) {
  const { document, files } = openJob.value!;
  return analyst().makeRecord(
    document,
    files,
    browserChoice(new Date()),
    kind,
    kind === "pdf" ? signingKey.value : null,
  );
}

/** What a phone can hand to its other apps; a browser that cannot says so here. */
const canShare = (): boolean =>
  navigator.canShare?.({ files: [new File([""], "record.pdf", { type: "application/pdf" })] }) ?? false;

export function RecordActions({ leftOut }: { leftOut: Signal<readonly string[]> }) {
  const said = useSignal("");
  const trouble = useSignal<string | null>(null);
  const working = useSignal(false);
  /** made, and waiting for a tap: some browsers share only right after one */
  const ready = useSignal<File | null>(null);

  const work = async (what: () => Promise<string>) => {
    working.value = true;
    trouble.value = null;
    said.value = "Making the record …";
    try {
      said.value = await what();
    } catch (error) {
      said.value = "";
      trouble.value = (error as Error).message;
    }
    working.value = false;
  };
  const save = (kind: RecordKind) =>
    work(async () => {
      const { record, leftOut: out } = await made(kind);
      saveFile(fileName(kind), record);
      leftOut.value = out;
      return `Saved as ${fileName(kind)}.`;
    });
  const share = () =>
    work(async () => {
      const file = ready.value ?? new File([(await made("pdf")).record], fileName("pdf"), { type: "application/pdf" });
      try {
        await navigator.share({ files: [file], title: fileName("pdf") });
        ready.value = null;
        return "Handed over.";
      } catch (error) {
        const { name } = error as DOMException;
        ready.value = name === "NotAllowedError" ? file : null;
        if (name === "AbortError") return "Not shared.";
        if (name === "NotAllowedError") return "The record is ready: tap once more to share it.";
        throw error;
      }
    });

  return (
    <>
      <div class="actions">
        <button type="button" class="main-action" disabled={working.value} onClick={() => void save("pdf")}>
          Save the record as PDF
        </button>
        <button type="button" disabled={working.value} onClick={() => print()}>
          Print it
        </button>
        {canShare() && (
          <button type="button" disabled={working.value} onClick={() => void share()}>
            {ready.value ? "Share it now" : "Share it"}
          </button>
        )}
        <button type="button" disabled={working.value} onClick={() => void save("html")}>
          Save it as a page
        </button>
        <button type="button" disabled={working.value} onClick={() => void save("zip")}>
          Save the job folder
        </button>
      </div>
      <p role="status">{said.value}</p>
      {recordChoice.value.shared && leftOut.value.length > 0 && <p>Left out: {leftOut.value.join("; ")}.</p>}
      {trouble.value && (
        <p class="notice notice-bad" role="alert">
          {trouble.value}
        </p>
      )}
    </>
  );
}
