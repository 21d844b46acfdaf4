/** How a log is to be read where the reader's own decision should not stand: each field left empty leaves it to the reader. */
import type { Recording } from "../../analysis/index.ts";
import { ChoiceField, NumberField, TextField } from "../pieces/fields.tsx";

interface OverrideProps {
  readonly recording: Recording;
  readonly path: string;
  readonly change: (fields: Partial<Recording>) => void;
}

const column = (text: string): Recording["column"] =>
  text.trim() === "" ? undefined : /^\d+$/.test(text.trim()) ? Number(text) : text;

export function OverrideFields({ recording, path, change }: OverrideProps) {
  return (
    <details>
      <summary>Read it differently</summary>
      <div class="fields">
        <TextField
          label="Column"
          hint="its heading, or its number from 1"
          value={recording.column === undefined ? "" : `${recording.column}`}
          onValue={(text) => change({ column: column(text) })}
        />
        <TextField
          label="Time column"
          value={recording.timeColumn === undefined ? "" : `${recording.timeColumn}`}
          onValue={(text) => change({ timeColumn: column(text) })}
        />
        <NumberField
          label="One value every"
          unit="s"
          path={`${path}.interval`}
          value={recording.interval}
          least={1e-6}
          most={86400}
          onValue={(interval) => change({ interval })}
        />
        <TextField
          label="Begins at"
          hint="as 2026-05-04T09:30:00"
          value={recording.startTime}
          onValue={(text) => change({ startTime: text || undefined })}
        />
        <ChoiceField
          label="Between cells"
          value={recording.delimiter ?? ""}
          choices={[
            ["", "As found"],
            [",", "Comma"],
            [";", "Semicolon"],
            ["\t", "Tab"],
            ["|", "Bar"],
            [" ", "Blank"],
          ]}
          onValue={(delimiter) => change({ delimiter: delimiter || undefined })}
        />
        <ChoiceField
          label="Decimals after"
          value={recording.decimal ?? ""}
          choices={[
            ["", "As found"],
            [".", "Point"],
            [",", "Comma"],
          ]}
          onValue={(decimal) => change({ decimal: (decimal || undefined) as Recording["decimal"] })}
        />
        <ChoiceField
          label="Dates begin with"
          value={recording.dayFirst === undefined ? "" : `${recording.dayFirst}`}
          choices={[
            ["", "As found"],
            ["true", "The day"],
            ["false", "The month"],
          ]}
          onValue={(first) => change({ dayFirst: first === "" ? undefined : first === "true" })}
        />
        <ChoiceField
          label="Unit"
          value={recording.unit ?? ""}
          choices={[
            ["", "As found"],
            ["V", "V"],
            ["mV", "mV"],
            ["A", "A"],
            ["mA", "mA"],
          ]}
          onValue={(unit) => change({ unit: unit || undefined })}
        />
        <ChoiceField
          label="Taken with the others"
          value={recording.concurrent === false ? "no" : ""}
          choices={[
            ["", "At the same time"],
            ["no", "At another time"],
          ]}
          onValue={(together) => change({ concurrent: together === "no" ? false : undefined })}
        />
      </div>
    </details>
  );
}
