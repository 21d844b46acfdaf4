/** Leave a record: paper and length chosen, saved as a PDF with the job inside, or as a page. Made without a server. */
import { useSignal } from "@preact/signals";
import { folderName } from "../job/all-jobs.ts";
import { openJob } from "../job/open-job.ts";
import { saveFile } from "../job/save-file.ts";
import { Segments } from "../pieces/fields.tsx";
import type { BrowserChoice } from "../record/make-record.ts";
import { settings } from "../settings.ts";
import { analyst } from "../worker/workers.ts";

const dayOf = (date: Date): string =>
  [date.getFullYear(), date.getMonth() + 1, date.getDate()].map((part) => String(part).padStart(2, "0")).join("-");

export function RecordCard() {
  const paper = useSignal<BrowserChoice["paper"]>("a4");
  const form = useSignal<BrowserChoice["form"]>("full");
  const working = useSignal(false);
  const trouble = useSignal<string | null>(null);
  const now = openJob.value!;

  const save = async (kind: "pdf" | "html") => {
    working.value = true;
    trouble.value = null;
    const units = settings.value.length === "ft" ? "imperial" : "metric";
    const choice: BrowserChoice = { madeOn: dayOf(new Date()), paper: paper.value, units, form: form.value };
    try {
      const record = await analyst().makeRecord(now.document, now.files, choice, kind);
      saveFile(`${folderName(now.document)}-record.${kind}`, record);
    } catch (error) {
      trouble.value = (error as Error).message;
    }
    working.value = false;
  };

  return (
    <section aria-labelledby="record-heading">
      <h2 id="record-heading">Leave a record</h2>
      <p class="field-note">
        For the customer, in plain words first. The PDF carries the job with every log, and this app opens it again.
      </p>
      <Segments
        label="Paper"
        value={paper.value}
        choices={[
          ["a4", "A4"],
          ["letter", "US Letter"],
        ]}
        onValue={(value) => {
          paper.value = value as BrowserChoice["paper"];
        }}
      />
      <Segments
        label="Length"
        value={form.value}
        choices={[
          ["full", "All of it"],
          ["short", "One page"],
        ]}
        onValue={(value) => {
          form.value = value as BrowserChoice["form"];
        }}
      />
      <div class="actions">
        <button type="button" disabled={working.value} onClick={() => void save("pdf")}>
          Save the record as PDF
        </button>
        <button type="button" disabled={working.value} onClick={() => void save("html")}>
          Save it as a page
        </button>
      </div>
      <p role="status">{working.value ? "Making the record …" : ""}</p>
      {trouble.value && (
        <p class="notice notice-bad" role="alert">
          {trouble.value}
        </p>
      )}
    </section>
  );
}
